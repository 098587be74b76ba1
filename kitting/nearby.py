"""Where what is lacking on a site can come from: the own van first, then other vans, the depot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import Item, Place, PlaceKind
from kitting.models import Kit
from kitting.plan.difference import Difference
from kitting.shelves import Spot, on_shelves, on_vans


@dataclass(frozen=True, slots=True)
class Near:
    """One item that is needed more, and where it lies."""

    item: Item
    quantity: int  # base units needed more
    own: int  # base units on the crew's own van, in its standing stock
    elsewhere: tuple[tuple[Place, int], ...]  # other vans, then the depot's shelves

    @property
    def lacking(self) -> int:
        """Base units that the own van does not carry."""
        return max(self.quantity - self.own, 0)


def near(kit: Kit, found: Difference) -> list[Near]:
    """Return where each thing lies that a change of a kit needs more."""
    more = {net.item: net.quantity for net in found.to_pick()}
    items = Item.objects.in_bulk(list(more), field_name="code")
    ids = [item.pk for item in items.values()]
    vans, shelves = on_vans(ids), on_shelves(ids)
    return [
        _near(kit, items[code], quantity, vans.get(items[code].pk, ()), shelves)
        for code, quantity in more.items()
        if code in items
    ]


def _near(
    kit: Kit, item: Item, quantity: int, on_them: Iterable[Spot], shelves: dict[int, list[Spot]]
) -> Near:
    own, other = 0, []
    for spot in on_them:
        van = spot.place.within(PlaceKind.VAN)
        if van is not None and van.pk == kit.job.van_id:
            own += spot.quantity
        elif van is not None:
            other.append((van, spot.quantity))
    depot = [(spot.place, spot.quantity) for spot in shelves.get(item.pk, ())]
    return Near(item, quantity, own, (*_summed(other), *_summed(depot)))


def _summed(spots: Iterable[tuple[Place, int]]) -> list[tuple[Place, int]]:
    found: dict[int, tuple[Place, int]] = {}
    for place, quantity in spots:
        found[place.pk] = (place, found.get(place.pk, (place, 0))[1] + quantity)
    return list(found.values())
