"""Suppliers' boxes: what they are told to hold, what was found, one opened at the bench."""

from collections import defaultdict

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import boxes
from inventory.access import needs
from inventory.models import BoxDoubt, Role


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def boxes_told(request: HttpRequest) -> HttpResponse:
    """List what boxes hold and what of it is in doubt; count one thing in a box just opened."""
    told = [row for row in boxes.contents(timezone.localdate(), Q()) if row.quantity]
    doubts: dict[int, list[BoxDoubt]] = defaultdict(list)
    for doubt in boxes.open_doubts(told):
        doubts[doubt.content_id].append(doubt)
    context = {
        "rows": sorted(((row, doubts[row.pk]) for row in told), key=lambda pair: not pair[1]),
        "counted": sorted({row.item for row in told}, key=lambda item: item.name),
    }
    return render(request, "kitting/boxes.html", context)
