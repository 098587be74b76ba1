"""Where another one of what a crew asks for lies: along with it, with another, on the shelves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from inventory.models import Item, Place
from inventory.words import measure
from kitting import shelves
from kitting.models import PartRequest
from kitting.shelves import Spot

MOST = 4  # places that are told


def of(requests: Iterable[PartRequest]) -> dict[int, list[str]]:
    """Return request id -> "on Van 1, their own: 2", "Bin 3: 14"; what the crew has along first."""
    rows = list(requests)
    items = {item.pk: item for row in rows if (item := _item(row)) is not None}
    along, on_shelves = shelves.carried_along(items), shelves.on_shelves(items)
    places = [spot.place for spots in along.values() for spot in spots]
    going = shelves.going_with([row.kit.job for row in rows], places)
    found: dict[int, list[str]] = {}
    for row in rows:
        item = _item(row)
        if item is None:
            found[row.pk] = []
            continue
        ours = going[row.kit.job_id]
        sums = _sums(along[item.pk])
        # What a person has in the bag is nearer than what lies on the van.
        told = sorted(sums, key=lambda one: (one.pk not in ours, not shelves.is_own_bag(one)))
        words = [
            f"{'in' if shelves.is_own_bag(place) else 'on'} {place.name}"
            f"{', their own' if place.pk in ours else ''}: {measure(sums[place], item.unit)}"
            for place in told
        ]
        bins = _sums(on_shelves[item.pk])
        words += [
            f"{place.name}: {measure(quantity, item.unit)}" for place, quantity in bins.items()
        ]
        found[row.pk] = words[:MOST]
    return found


def _item(row: PartRequest) -> Item | None:
    return row.item or (row.unit.item if row.unit else None)


def _sums(spots: Iterable[Spot]) -> dict[Place, int]:
    """Place -> base units there; told by the van, not the rack in it."""
    found: dict[Place, int] = defaultdict(int)
    for spot in spots:
        found[shelves.carrier(spot.place) or spot.place] += spot.quantity
    return found
