"""Back to the shelf: what was picked and is no longer wanted leaves the kit before it is loaded."""

from __future__ import annotations

from dataclasses import replace

from inventory import pieces
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Holding, Item, Lot, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing
from inventory.queries import place_of_code
from inventory.two_claims import ended
from inventory.words import amount, measure
from kitting import access, gates, lengths, packed_pieces, walking
from kitting.bags import is_ours
from kitting.models import Kit
from kitting.packed_pieces import Piece
from kitting.progress import fold, places_of
from kitting.shelves import stock_in
from kitting.tallies import Total


def put_back(writes: Writing) -> Verdict:
    """Take a unit, a box or a quantity out of the kit, to the target: a place of the depot.

    Without a number, as much of an item as the kit no longer needs.
    """
    kit = gates.open_kit(writes)
    to, thing = _target(writes, kit), writes.thing
    if thing.place is not None and (thing.place.kind == PlaceKind.CARTON or is_ours(thing.place)):
        return _box(writes, kit, thing.place, to)
    if thing.unit is not None:
        return _unit(writes, kit, thing.unit, to)
    if thing.item is not None and thing.item.tracking != Tracking.SERIAL:
        return _quantity(writes, kit, thing.item, to)
    raise CannotMove(thing.question.rstrip(".") or "Scan what goes back to the shelf")


def _target(writes: Writing, kit: Kit) -> Place:
    place = place_of_code(writes.line.target) if writes.line.target else gates.depot_dock()
    if place is None or walking.where_stands(kit, place) is not Standing.SHELF:
        raise CannotMove("Say where it goes: scan a place of the depot")
    return place


def at_depot(kit: Kit) -> list[Place]:
    """Return the places of a kit that still stand at the depot."""
    return [p for p in places_of(kit) if p.within(PlaceKind.VAN, PlaceKind.SITE) is None]


def _unit(writes: Writing, kit: Kit, unit: Unit, to: Place) -> Verdict:
    if unit.place is None or unit.place_id not in {place.pk for place in at_depot(kit)}:
        raise CannotMove(f"{unit} is not packed for {kit.code} at the depot")
    box = walking.box_around(unit)
    if box is not None:
        return _box(writes, kit, box, to)
    writes.unit(unit, to)
    return Verdict("applied", f"{unit}: back at {to.name}.")


def _box(writes: Writing, kit: Kit, box: Place, to: Place) -> Verdict:
    if box.pk not in {place.pk for place in at_depot(kit)}:
        raise CannotMove(f"{box.name} is not packed for {kit.code} at the depot")
    writes.container(box, to)
    return Verdict("applied", f"{box.name}: back at {to.name}.")


def _quantity(writes: Writing, kit: Kit, item: Item, to: Place) -> Verdict:
    stock = stock_in(at_depot(kit), item, writes.thing.lot)
    there = sum(holding.quantity for holding in stock)
    progress = fold(kit, item)
    rows = [row for row in progress.lines if row.line.item_id == item.pk]
    if item.unit == "mm" and there and (lengths.is_cut(rows) or not rows):
        return _pieces(writes, kit, progress.totals.get(item.code), stock, to)
    total = {**progress.totals, **progress.others}.get(item.code)
    over = total.left_over if total is not None else there
    quantity = left = min(over if writes.line.quantity is None else writes.line.quantity, there)
    for holding in stock:
        part = min(holding.quantity, left)
        if part:
            writes.lot(holding.lot, holding.place, to, part)
            left -= part
    if not quantity:
        why = "nothing of it is packed at the depot" if not there else "the kit needs all of it"
        return Verdict("noted", f"{item.name}: {why}.")
    return Verdict("applied", f"{amount(quantity, item)} back at {to.name}.")


def _pieces(
    writes: Writing, kit: Kit, total: Total | None, stock: list[Holding], to: Place
) -> Verdict:
    """Put cable back in the pieces that it was cut into; each is a piece kept from then on.

    total: None where no line names it.
    """
    item, asked = stock[0].lot.item, writes.line.quantity
    packed = packed_pieces.of(kit, [item])[item.pk]
    over = packed
    if total is not None and not total.cancelled:
        over = list(total.unwanted) if total.left_over else []
    packed, over = _of_label(packed, over, writes.thing.lot)
    going = over if asked is None else _of_length(packed, over, asked)
    done, new = [], False
    for piece in going:
        lying = lengths.lying(stock, piece.lot, piece.mm)
        if lying is not None:
            kept = pieces.shelve(writes, lying.lot, lying.place, to, piece.mm)
            lying.quantity -= piece.mm
            new = new or kept.pk != lying.lot_id
            done.append(f"{measure(piece.mm, item.unit)} as {kept.number}")
    if done:
        labels = " Print its label." if new else ""
        return Verdict("applied", f"{item.name}: {' and '.join(done)} back at {to.name}.{labels}")
    if asked is None:
        return Verdict("noted", f"{item.name}: the kit needs all of it.")
    held = " and ".join(measure(piece.mm, item.unit) for piece in packed)
    raise CannotMove(
        f"{item.name}: expected the length of a piece packed for {kit.code}, {held}, "
        f"got {measure(asked, item.unit)}"
    )


def _of_label(
    packed: list[Piece], over: list[Piece], lot: Lot | None
) -> tuple[list[Piece], list[Piece]]:
    """Of the packed pieces and of those that are over: what a scanned label names, if it names any.
    It is over, too, where another one is that is as long."""
    mine = [piece for piece in packed if lot is not None and piece.lot == lot.pk]
    if not mine:
        return packed, over
    spare, own = [piece.mm for piece in over], []
    for piece in mine:
        if piece.mm in spare:
            spare.remove(piece.mm)
            own.append(piece)
    return mine, own


def _of_length(packed: list[Piece], over: list[Piece], mm: int) -> list[Piece]:
    """The pieces that somebody means by so many mm: one of that length, first one that is over, or
    all that are over together; else that much cut off the shortest that holds it."""
    same = [piece for piece in [*over, *packed] if piece.mm == mm]
    if same:
        return same[:1]
    for some in (over, packed):
        if some and sum(piece.mm for piece in some) == mm:
            return some
    longer = sorted((piece for piece in packed if piece.mm > mm), key=lambda piece: piece.mm)
    return [replace(piece, mm=mm) for piece in longer[:1]]


DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
PUT_BACK = Act("put_back", DESK, ended(put_back), allow=access.allow)
