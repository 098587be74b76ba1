"""One thing that comes back: its route, who decides what, and what may be done with it now."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import carriage, claiming, claims, labelling, returns
from inventory.access import needs, person_of, return_read
from inventory.models import About, Delivery, Partner, Role
from inventory.overviews import shelves
from inventory.return_lists import Walked, route, seen
from inventory.return_routes import GRAVE, PACKAGING, VERDICTS


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def back(request: HttpRequest, code: str) -> HttpResponse:
    """Show one return with its route and the acts that are open."""
    found = return_read(person_of(request), code)
    steps = returns.steps_of(found).select_related("event__person").order_by("pk")
    known = seen([found], timezone.localdate())[0]
    walked = route(known)
    delivery = claims.brought_by(found.unit) if found.unit is not None else None
    context = {
        "found": found,
        "label": labelling.code_of_return(found),
        "steps": steps,
        "closed": any(step.closes for step in steps),
        "route": walked,
        "box_to_keep": known.claim if any(_box_open(one) for one in walked) else None,
        "delivery": delivery,
        "ends": _ends(delivery, found.kind) if delivery is not None else None,
        "now": timezone.now(),
        "partners": Partner.objects.all(),
        "rule": returns.rule_of(found.item),
        "lies": known.lies,
        "grave": found.kind in GRAVE,
        "battery": known.battery,
        "caution": {"words": carriage.CAUTION, "decides": carriage.DECIDES},
        "decision": carriage.decision(found),
        "packings": carriage.CLASSES.items(),
        "source": carriage.SOURCE,
        "verdicts": [
            (f"{verdict}:{packing}", f"{said}, {packed}")
            for verdict, said in VERDICTS.items()
            for packing, packed in PACKAGING.items()
        ],
        "claims": claims.about_unit(found.unit) if found.unit is not None else [],
        "abouts": About.choices,
        "advised": claiming.advised(found.kind),
        "shelves": shelves(),
    }
    return render(request, "inventory/return.html", context)


def _box_open(one: Walked) -> bool:
    return one.stop.key == "carton" and not (one.done or one.over)


def _ends(delivery: Delivery, kind: str) -> tuple[Partner, datetime | None]:
    """Whom the usual claim falls to when a thing comes just in, and when its last clock ends."""
    about = claiming.advised(kind)
    at = claims.counted_at(delivery)
    first = at.received_at if at is not None else delivery.entered_at
    partner = claims.falls_to(delivery, about, first)
    return partner, claims.ends_at(delivery, partner, about)
