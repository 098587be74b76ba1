"""Where what is lacking on a site can come from: what the crew has along first, then other vans and
bags, the depot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from inventory.models import Item, Place
from kitting.lengths import Rack
from kitting.models import Kit
from kitting.plan.difference import Difference, Net
from kitting.plan.needs import PATH_NEEDS
from kitting.shelves import Spot, carried_along, carrier, going_with, on_shelves


@dataclass(frozen=True, slots=True)
class Near:
    """One item that is needed more, and where it lies."""

    item: Item
    quantity: int  # base units needed more
    own: int  # base units on the crew's own van and in its bags; of a length what it can cut there
    elsewhere: tuple[tuple[Place, int], ...]  # other vans and bags, then the depot's shelves

    @property
    def lacking(self) -> int:
        """Base units that the crew does not have along."""
        return max(self.quantity - self.own, 0)


def near(kit: Kit, found: Difference) -> list[Near]:
    """Return where each thing lies that a change of a kit needs more."""
    more = {net.item: net for net in found.to_pick()}
    joined = {
        line.item
        for line in found.more
        if any(reason.need.startswith(PATH_NEEDS) for reason in line.reasons)
    }
    items = Item.objects.in_bulk(list(more), field_name="code")
    ids = [item.pk for item in items.values()]
    along, shelves = carried_along(ids), on_shelves(ids)
    places = [spot.place for spots in along.values() for spot in spots]
    ours = going_with([kit.job], places)[kit.job_id]
    rack = Rack({pk: [*along.get(pk, ()), *shelves.get(pk, ())] for pk in ids})
    return [
        _near(
            ours,
            items[code],
            replace(net, pieces=()) if code in joined else net,
            along.get(items[code].pk, ()),
            shelves.get(items[code].pk, ()),
            rack,
        )
        for code, net in more.items()
        if code in items
    ]


def _near(
    ours: set[int],
    item: Item,
    net: Net,
    standing: Iterable[Spot],
    shelved: Iterable[Spot],
    rack: Rack,
) -> Near:
    own: list[Spot] = []
    by_carrier: dict[int, tuple[Place, list[Spot]]] = {}
    for spot in standing:
        around = carrier(spot.place)
        if around is not None and around.pk in ours:
            own.append(spot)
        elif around is not None:
            by_carrier.setdefault(around.pk, (around, []))[1].append(spot)
    by_shelf: dict[int, tuple[Place, list[Spot]]] = {}
    for spot in shelved:
        by_shelf.setdefault(spot.place.pk, (spot.place, []))[1].append(spot)
    others = [
        (place, held)
        for place, spots in (*by_carrier.values(), *by_shelf.values())
        if (held := _held(item, net, spots, rack))
    ]
    mine = _held(item, net, own, rack) if own else 0
    return Near(item, net.quantity, mine, tuple(others))


def _held(item: Item, net: Net, spots: list[Spot], rack: Rack) -> int:
    """Base units there; of a length those of the needed pieces that can be cut from one stick."""
    if not net.pieces:
        return sum(spot.quantity for spot in spots)
    rack.lay(item.pk, spots)
    cuts = rack.cut(item.pk, net.pieces)
    return sum(cut.piece for cut in cuts if cut.spot is not None)
