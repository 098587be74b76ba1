"""Returns: what is still out, what is set aside, and what vans bring back to the dock."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import ReturnKind, Role
from inventory.overviews import docks, our_places, things_aside
from inventory.return_lists import as_new, on_way
from kitting import overviews
from kitting.shelves import usual_shelves

SHOWN = 30  # open returns on the page


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def returns(request: HttpRequest) -> HttpResponse:
    """Scan what comes back to a dock; list what is still with crews and what is set aside."""
    back, open_count = on_way(timezone.localdate(), SHOWN)
    shelves = usual_shelves({one.found.item.pk for one in back})
    context = {
        "quick": {
            one.found.pk: (verdict, shelves[one.found.item.pk])
            for one in back
            if (verdict := as_new(one)) and one.found.item.pk in shelves
        },
        "kinds": ReturnKind.choices,
        "back": back,
        "open_count": open_count,
        "docks": docks(),
        "vans": our_places().filter(kind="van"),
        "out": overviews.still_out(person_of(request), timezone.localdate()),
        "holds": things_aside(),
    }
    return render(request, "kitting/returns.html", context)
