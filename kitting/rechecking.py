"""A kit that goes out later than it was packed for is looked at again: recall, expiry, charge."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db.models import Q

from inventory import charging
from inventory.models import Holding, Place, Unit
from inventory.queries import holds_to_tell
from kitting.leading import stop
from kitting.models import Kit
from kitting.progress import places_of


def of_kit(kit: Kit) -> list[str]:
    """Return why something packed may not go out on the day of the job, each in a sentence."""
    places = places_of(kit)
    day = kit.job.date
    return [*_set_aside(places), *expired(places, day), *_overdue(places, day)]


def may_go(kit: Kit, place: Place) -> None:
    """Stop a parcel or bag with something in it that has to be charged before the job.

    What is set aside is a gate of its own.
    """
    inside = [one for one in places_of(kit) if place.pk in {p.pk for p in one.way_up()}]
    said = _overdue(inside, kit.job.date)
    if said:
        stop(f"{said[0].rstrip('.')}. It is in {place.name}: take it out first")


def _set_aside(places: Sequence[Place]) -> list[str]:
    inside = [place.pk for place in places]
    lots = Holding.objects.filter(place__in=inside, quantity__gt=0).values("lot")
    on_it = Q(unit__place__in=inside) | Q(lot__in=lots) | Q(place__in=inside)
    aside = holds_to_tell().filter(on_it).select_related("unit__item", "lot__item")
    return [f"{one.unit or one.lot or one.place} is set aside: {one.reason}" for one in aside]


def expired(places: Sequence[Place], day: date) -> list[str]:
    """What expires before a day, each in a sentence without its full stop."""
    inside = [place.pk for place in places]
    held = Holding.objects.filter(place__in=inside, quantity__gt=0).select_related("lot__item")
    lots = {holding.lot_id: holding.lot for holding in held}
    return [
        f"{lot} expires on {lot.expires_on}, before the job"
        for lot in lots.values()
        if lot.expires_on is not None and lot.expires_on < day
    ]


def _overdue(places: Sequence[Place], day: date) -> list[str]:
    """What has to be charged before a day."""
    inside = [place.pk for place in places]
    units = list(Unit.objects.filter(place__in=inside).select_related("item", "place"))
    return [
        f"{state.unit}: " + (state.over or f"has to be charged by {state.due}, before the job")
        for state in charging.states(units, day)
        if state.stops(day)
    ]
