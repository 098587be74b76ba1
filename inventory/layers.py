"""How deep a thing lies in its bin: how many came into the bin after it.

Bins have no shelves inside them that anybody scans. What was put there last is on top or in front,
as far as the book knows; whoever restacks a bin without scanning knows better.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Max

from inventory.models import ContainerMove, Movement, Place, PlaceKind, Unit


def on_top(units: Iterable[Unit]) -> dict[int, int]:
    """Return unit id -> how many boxes and loose units came into its bin after it; 0: on top."""
    wanted = [unit for unit in units if unit.place is not None]
    bins = {around.pk for unit in wanted for around in [_around(unit.place)] if around}
    boxes = Place.objects.filter(parent__in=bins, kind=PlaceKind.CARTON)
    loose = Unit.objects.filter(place__in=bins)
    came: dict[int, list[int]] = defaultdict(list)
    of_box: dict[int, int] = {}
    moves = ContainerMove.objects.filter(place__in=boxes).values_list("place", "place__parent")
    for box, bin_, event in moves.annotate(Max("event__number")).order_by():
        of_box[box] = event
        came[bin_ or 0].append(event)
    of_unit: dict[int, int] = {}
    steps = Movement.objects.filter(unit__in=loose).values_list("unit", "unit__place")
    for unit, bin_, event in steps.annotate(Max("event__number")).order_by():
        of_unit[unit or 0] = event
        came[bin_ or 0].append(event)
    return {
        unit.pk: _after(unit, came, of_box.get(unit.place_id or 0) or of_unit.get(unit.pk, 0))
        for unit in wanted
    }


def _around(place: Place | None) -> Place | None:
    """The place that a person goes to: what stands in a box is where the box is."""
    around = place.way_up() if place else []
    return next((one for one in around if one.kind != PlaceKind.CARTON), None)


def _after(unit: Unit, came: dict[int, list[int]], own: int) -> int:
    around = _around(unit.place)
    return sum(event > own for event in came[around.pk]) if around and own else 0
