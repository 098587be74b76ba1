"""One walk through the bins for several kits."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.queries import latest_mark
from kitting import together


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kits_together(request: HttpRequest) -> HttpResponse:
    """Show the walk for the kits named by `kit`, or for all that leave on `day` (ISO date)."""
    codes, day = request.GET.getlist("kit"), _asked(request.GET.get("day", ""))
    kits = together.kits_for(person_of(request), codes, day)
    context = {"walk": together.walk(kits), "mark": latest_mark(), "day": day}
    return render(request, "kitting/kits_together.html", context)


def _asked(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
