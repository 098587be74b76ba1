"""One walk through the bins for several kits."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.queries import latest_mark, place_of_code
from kitting import not_there, together
from kitting.access import kit_write
from kitting.models import Kit
from kitting.views.closed import while_open

LONGEST = 120  # characters of a code


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kits_together(request: HttpRequest) -> HttpResponse:
    """Show the walk for the kits named by `kit`, or for all that leave on `day` (ISO date)."""
    codes, day = request.GET.getlist("kit"), _asked(request.GET.get("day", ""))
    kits = together.kits_for(person_of(request), codes, day)
    context = {"walk": together.walk(kits), "mark": latest_mark(), "day": day}
    return render(request, "kitting/kits_together.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
@while_open(kit_write, "kit")
def kit_empty(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Tell where else a kit gets `item` (by default its first) from, the place `at` being empty."""
    asked = request.GET.get("item", "")[:LONGEST]
    lines = kit.lines.select_related("item").order_by("order")
    line = (lines.filter(item__code=asked) if asked else lines).first()
    if line is None:
        raise Http404
    at = place_of_code(request.GET.get("at", "")[:LONGEST])
    at = None if at is None or at.outside or at.subject else at
    context = {
        "kit": kit,
        "item": line.item,
        "at": at,
        "found": not_there.elsewhere(kit, line.item, at),
        "mark": latest_mark(),
    }
    return render(request, "kitting/kit_empty.html", context)


def _asked(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
