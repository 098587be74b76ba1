"""Off the van again, when a job is put off or its van changes; and a van's own things to another.

"unload": a parcel, bag, box, unit or quantity of a kit goes from a van back to its bay, or to the
target, a place of the depot. "carry_over": all that the van named by "from" carries of its own, of
kind tools or stock, goes to the target.
"""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.models import Holding, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing
from inventory.queries import place_of_code
from inventory.words import amount, counted
from kitting import access, gates, walking, whereto
from kitting.models import Kit
from kitting.picking import bay
from kitting.progress import places_of
from kitting.shelves import stock_in

ANYBODY = frozenset(Role.values)


def unload(writes: Writing) -> Verdict:
    """Take something of the kit off the van it is on."""
    kit = gates.open_kit(writes)
    thing, to = writes.thing, _target(writes, kit)
    box = thing.place
    if thing.unit is not None:
        box = walking.box_around(thing.unit)
    if box is not None:
        gates.not_anothers(writes, box, kit)
        _on_a_van(kit, box, box.name)
        writes.container(box, to if box.kind == PlaceKind.CARTON else _beside(to))
        return Verdict("applied", f"{box.name}: off the van, at {to.name}.")
    if thing.unit is not None:
        _on_a_van(kit, thing.unit.place, str(thing.unit))
        writes.unit(thing.unit, to)
        return Verdict("applied", f"{thing.unit}: off the van, at {to.name}.")
    if thing.item is None:
        raise CannotMove(thing.question.rstrip(".") or "Scan what comes off the van")
    there = stock_in([p for p in places_of(kit) if p.within(PlaceKind.VAN)], thing.item)
    quantity = left = writes.line.quantity or sum(holding.quantity for holding in there)
    if not quantity or quantity > sum(holding.quantity for holding in there):
        raise CannotMove(f"{thing.item.name}: so much of it is not on a van for {kit.code}")
    for holding in there:
        part = min(left, holding.quantity)
        if part:
            writes.lot(holding.lot, holding.place, to, part)
            left -= part
    return Verdict("applied", f"{amount(quantity, thing.item)}: off the van, at {to.name}.")


def _target(writes: Writing, kit: Kit) -> Place:
    if not writes.line.target:
        return bay(kit)
    place = place_of_code(writes.line.target)
    if place is None or place.within(PlaceKind.DEPOT) is None:
        raise CannotMove("Say where it goes: scan a place of the depot")
    return place


def _beside(to: Place) -> Place:
    """Parcels stand beside the bay, as they were made; boxes and loose things in it."""
    return to.parent if to.kind == PlaceKind.BAY and to.parent is not None else to


def _on_a_van(kit: Kit, place: Place | None, name: str) -> None:
    around = place.way_up() if place is not None else []
    ours = any(one.subject == kit.subject for one in around)
    if place is None or not ours or place.within(PlaceKind.VAN) is None:
        raise CannotMove(f"{name} is not on a van for {kit.code}")


def carry_over(writes: Writing) -> Verdict:
    """Carry a van's tools, or its stock, over to another van or into the depot."""
    van, to = place_of_code(writes.line.start), place_of_code(writes.line.target)
    if van is None or van.kind != PlaceKind.VAN:
        raise CannotMove("Say from which van")
    if to is None or to.pk == van.pk or not (_is_van(to) or to.within(PlaceKind.DEPOT)):
        raise CannotMove("Say where it goes: another van, or a place of the depot")
    if writes.line.kind not in ("tools", "stock"):
        raise CannotMove("Say what is carried over: tools or stock")
    tools = writes.line.kind == "tools"
    units, holdings = whereto.standing_in(van)
    count = _units(writes, [one for one in units if _tool(one) == tools], to)
    count += _held(writes, [one for one in holdings if _tool(one) == tools], to)
    if not count:
        return Verdict("noted", f"{van.name} has no {writes.line.kind} of its own any more.")
    kinds = counted(count, "kind")
    return Verdict("applied", f"{kinds} of {writes.line.kind}: from {van.name} to {to.name}.")


def _is_van(place: Place) -> bool:
    return place.kind == PlaceKind.VAN


def _tool(thing: Unit | Holding) -> bool:
    item = thing.item if isinstance(thing, Unit) else thing.lot.item
    return item.tracking == Tracking.TOOL


def _units(writes: Writing, units: list[Unit], to: Place) -> int:
    for unit in units:
        writes.unit(unit, to)
    return len({unit.item_id for unit in units})


def _held(writes: Writing, holdings: list[Holding], to: Place) -> int:
    for holding in holdings:
        writes.lot(holding.lot, holding.place, to, holding.quantity)
    return len({holding.lot.item_id for holding in holdings})


UNLOAD = Act("unload", ANYBODY, unload, allow=access.allow)
CARRY_OVER = Act("carry_over", ANYBODY, carry_over)
