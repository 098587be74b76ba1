"""The cuts of a day: which stick gives which pieces."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Item, Role
from kitting import cut_plan
from kitting.access import day_read
from kitting.plan.day_cuts import weights


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def day_cuts(request: HttpRequest) -> HttpResponse:
    """Show what is cut on `day` (ISO date, else today), each item's plan when it is worked out;
    with `item` (its code) that of one item at once."""
    text = request.GET.get("day", "")
    day = day_read(text) if text else timezone.localdate()
    asked, code = cut_plan.asked(day), request.GET.get("item", "")
    context = {
        "day": day,
        "asked": asked,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "weights": weights(),
    }
    if code:
        item = get_object_or_404(Item, code=code)
        one = next((one for one in asked if one.item == item), None)
        context |= {"item": item, "asked": [one] if one else []}
        if one is not None:
            context |= {"cuts": cut_plan.worked_out(one, day)}
    return render(request, "kitting/day_cuts.html", context)
