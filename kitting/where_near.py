"""Where another one of what a crew asks for lies: on its own van, on another, on the shelves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from inventory.models import Item, PlaceKind
from inventory.words import measure
from kitting import shelves
from kitting.models import PartRequest
from kitting.shelves import Spot

MOST = 4  # places that are told


def of(requests: Iterable[PartRequest]) -> dict[int, list[str]]:
    """Return request id -> "on Van 1, their own: 2", "Bin 3: 14"; the crew's own van first."""
    rows = list(requests)
    items = {item.pk: item for row in rows if (item := _item(row)) is not None}
    on_vans, on_shelves = shelves.on_vans(items), shelves.on_shelves(items)
    found: dict[int, list[str]] = {}
    for row in rows:
        item = _item(row)
        if item is None:
            found[row.pk] = []
            continue
        own = row.kit.job.van_id
        vans = _sums(on_vans[item.pk], PlaceKind.VAN)
        told = sorted(vans.items(), key=lambda pair: pair[0][0] != own)
        words = [
            f"on {name}{', their own' if pk == own else ''}: {measure(quantity, item.unit)}"
            for (pk, name), quantity in told
        ]
        bins = _sums(on_shelves[item.pk])
        words += [f"{name}: {measure(quantity, item.unit)}" for (_, name), quantity in bins.items()]
        found[row.pk] = words[:MOST]
    return found


def _item(row: PartRequest) -> Item | None:
    return row.item or (row.unit.item if row.unit else None)


def _sums(spots: Iterable[Spot], kind: str = "") -> dict[tuple[int, str], int]:
    """(id, name) of each place -> base units there; kind: told by the van, not the rack in it."""
    found: dict[tuple[int, str], int] = defaultdict(int)
    for spot in spots:
        place = (spot.place.within(kind) if kind else None) or spot.place
        found[place.pk, place.name] += spot.quantity
    return found
