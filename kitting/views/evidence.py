"""Whose boxes arrive broken, with how sure that is."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Role
from kitting import evidence as record
from kitting.plan import bad_lots


@require_safe
@needs(Role.MANAGER)
def evidence(request: HttpRequest) -> HttpResponse:
    """Show suppliers, carriers and batches by their damage."""
    context = {"tables": record.tables(), "most": record.MOST, "alarm": bad_lots.ALARM}
    return render(request, "kitting/evidence.html", context)
