"""Picking: from the shelf into the kit's bags, parcels and bay."""

from __future__ import annotations

from collections.abc import Sequence

from inventory import confirming, teaching
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Finding, Holding, Item, Lot, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.queries import held, place_of_code, stock_at, the_one
from inventory.rows import Question, Slot
from inventory.scanning import UP
from inventory.words import amount, measure
from kitting import (
    access,
    bag_picking,
    gates,
    hand_wins,
    lengths,
    marks,
    missing,
    parcels,
    walking,
)
from kitting.bags import is_ours
from kitting.leading import heard
from kitting.models import Kit, Package
from kitting.packing import in_a_bag
from kitting.progress import fold
from kitting.shelves import proposed_place
from kitting.tallies import LineProgress, Progress, Total

_SKIPPED = Question(
    lambda: Finding.objects.filter(
        kind=Finding.Kind.SKIPPED,
        subject=Slot(Finding, "subject"),
        item=Slot(Finding, "item"),
        unit=None,
        words__startswith=marks.WORDS["pick"],
        quantity=Slot(Finding, "quantity"),
        answer=None,
    ).order_by("pk")[:1]
)
_PACKAGE = Question(
    lambda: (
        Package.objects.filter(kit=Slot(Package, "kit"), kind=Slot(Package, "kind"))
        .select_related("place__parent__parent")
        .order_by()
    )
)
_BAG = Question(
    lambda: (
        Package.objects.filter(
            kit=Slot(Package, "kit"), kind=Slot(Package, "kind"), step=Slot(Package, "step")
        )
        .select_related("place__parent__parent")
        .order_by()
    )
)


def pick(writes: Writing) -> Verdict:
    """Take a unit, a box, a batch or a quantity for the kit, into the target or its own bag.

    "from" names the bin; without it the first bin of the walk that holds the item.
    """
    kit = gates.open_kit(writes)
    hand_wins.cancelled(writes, kit)
    target = _target(writes, kit)
    thing = writes.thing
    if thing.place is not None:
        return _pick_place(writes, kit, thing.place, target)
    if thing.unit is not None or thing.kind == "serial":
        return _pick_unit(writes, kit, walking.unit_of(writes), target)
    if thing.item is not None:
        return _pick_quantity(writes, kit, thing.item, thing.lot, target)
    writes.finding(Finding.Kind.CODE, teaching.not_known(writes.line.text))
    return Verdict("problem", thing.question or "This code is not known here. It is kept.")


def _target(writes: Writing, kit: Kit) -> Place | None:
    """The parcel, bag or bay named by the event; it must be one of this kit's."""
    if not writes.line.target:
        return None
    place = place_of_code(writes.line.target)
    gates.not_claimed(writes, place, kit)
    if place is None or place.subject != kit.subject:
        raise CannotMove("Scan a parcel or bag of this kit as the target")
    return place


def package(kit: Kit, kind: str, step: str = "") -> Place | None:
    """Return the kit's package of this kind (a bag: of this step), None if it has none."""
    which = _BAG if kind == Package.Kind.BAG else _PACKAGE
    found = which.one(kit=kit.pk, kind=kind, step=step)
    return found.place if found else None


def bay(kit: Kit) -> Place:
    """Return the kit's bay at the dock."""
    place = package(kit, Package.Kind.BAY)
    assert place is not None, "a released kit has a bay"
    return place


def _pick_place(writes: Writing, kit: Kit, place: Place, target: Place | None) -> Verdict:
    if place.subject == kit.subject:
        return Verdict("noted", f"{place.name} is of this kit. Scan what goes into it.")
    if is_ours(place):
        to = target or parcels.newest(kit) or bay(kit)
        return bag_picking.pick(writes, kit, place, to, walking.where_stands(kit, place))
    if place.kind != PlaceKind.CARTON:
        gates.not_claimed(writes, place, kit)
        raise CannotMove(f"{place.name} is a {place.get_kind_display()}. Scan the thing itself")
    unit = place.units.select_related("item", "lot").order_by("pk").first()
    if unit is None:
        raise CannotMove(f"The book has nothing in {place.name}. Scan what is in it")
    gates.nothing_set_aside_in(place)
    return _pick_unit(writes, kit, unit, target)


def _pick_unit(writes: Writing, kit: Kit, unit: Unit, target: Place | None) -> Verdict:
    dispute = walking.claimed(writes, kit, unit)
    if dispute is not None:
        return dispute
    may_go_along(writes, kit, unit)
    where = walking.where_stands(kit, unit.place)
    to, box = target or bay(kit), walking.box_around(unit)
    if where is Standing.PARCEL:
        assert unit.place is not None
        on_van = unit.place.within(PlaceKind.VAN) is not None
        moved_on = unit.place.within(PlaceKind.SITE) is not None or on_van
        if target is None or moved_on or target in unit.place.way_up():
            return walking.late(writes, unit)
    before = hand_wins.total_of(kit, unit.item)

    def move() -> None:
        if box is not None:
            writes.container(box, to)
        else:
            writes.unit(unit, to)

    verdict = walking.walk(writes, kit, unit, move, thing=box)
    if where is Standing.PARCEL or verdict.word not in ("applied", "problem"):
        return verdict
    return _too_many(writes, unit.item, 1, before, verdict, unit)


def may_go_along(writes: Writing, kit: Kit, unit: Unit) -> None:
    """Gates before a unit is taken for a kit, whoever has it now."""
    gates.not_set_aside(unit)
    gates.no_barred_mix(kit, unit)
    gates.not_overdue(writes, unit)
    hand_wins.listed(writes, kit, unit.item)
    hand_wins.pinned_elsewhere(writes, kit, unit)
    hand_wins.made_apart(writes, kit, unit)


def _too_many(
    writes: Writing,
    item: Item,
    quantity: int,
    before: Total,
    verdict: Verdict,
    unit: Unit | None = None,
) -> Verdict:
    """The hand wins: more than needed goes along, and somebody is told."""
    if any((odd.kind, odd.item) == (Finding.Kind.SURPLUS, item) for odd in writes.odd):
        return verdict  # it is on no line: that is told already
    over = min(quantity - before.to_pick - before.damaged - before.missing, quantity)
    if over <= 0:
        return verdict
    words = f"{amount(over, item)} more than this kit needs."
    writes.finding(Finding.Kind.SURPLUS, words, unit=unit, item=item, quantity=over)
    return Verdict("problem", f"{verdict.sentence} {words}")


def _pick_quantity(
    writes: Writing, kit: Kit, item: Item, lot: Lot | None, target: Place | None
) -> Verdict:
    if item.tracking == Tracking.SERIAL:
        raise CannotMove(f"{item.name} is followed by serial. Scan the serial code")
    gates.not_set_aside(lot)
    hand_wins.expired(writes, kit, lot)
    if gates.same_look(writes):
        return Verdict("noted", f"{item.name}: the same look at the code, counted once.")
    start = _start(writes, kit, item, lot)
    gates.no_batch_set_aside(item, lot, start)
    progress = fold(kit, item)
    total = progress.totals.get(item.code) or Total(item)
    sticks = _sticks(writes, item, lot, start, progress)
    quantity = sum(part for _, _, part in sticks)
    hand_wins.listed(writes, kit, item, quantity)
    if _late_mark(writes, item, quantity):
        for where, of, part in sticks:
            _pay_back(writes, item, of, where, part)
        return Verdict("noted", f"{item.name}: it went along before. The shelf is put right.")
    rows = [row for row in progress.lines if row.line.item_id == item.pk]
    lacking = 0
    places = bags(kit, item, rows, [part for _, _, part in sticks], target)
    for (where, of, _), parts in zip(sticks, places, strict=True):
        for to, part in parts:
            lacking += take(writes, item, of, where, to, part)
    instead = max(min(quantity - total.to_pick, total.missing), 0)
    lost = missing.told(writes, item) if instead else []
    anew = sum(part for _, part in missing.settle(writes, item, lost, instead, "packed anew"))
    so = f" It stands in for what is missing: {amount(anew, item)}." if anew else ""
    done = f"{amount(quantity, item)} picked.{so}"
    verdict = Verdict("applied", done)
    if lacking and writes.event.findings.filter(kind=Finding.Kind.COUNT).exists():
        short = measure(lacking, item.unit)
        words = f"{done} The book lacked {short}; a count is asked for."
        verdict = Verdict("problem", words)
    return _too_many(writes, item, quantity, total, verdict)


def _sticks(
    writes: Writing, item: Item, lot: Lot | None, start: Place | None, progress: Progress
) -> list[tuple[Place | None, Lot | None, int]]:
    """From where how much is taken: of a length each piece by itself, from one stick.

    Scanned by its item's code, each comes from the best stick at its place; what no stick holds is
    of one that bears no label.
    """
    rows = progress.lines
    cut = lengths.is_cut(rows)
    if cut and lot is not None and lot.parent_id is not None:
        room = held(start, lot) if start is not None else 0
        asked = writes.line.quantity
        held_by = lengths.from_label(rows, item, lot, room) if asked is None else []
        if held_by:
            return [(start, lot, piece) for piece in held_by]
    total = progress.totals.get(item.code)
    quantity = _asked_quantity(writes, item, total.to_pick if total else 0, cut)
    if not cut:
        return [(start, lot, quantity)]
    if lot is not None:
        return [(start, lot, piece) for piece in lengths.whole(rows, item, quantity)]
    at = start if writes.line.start else None
    return [
        (cut.spot.place, cut.spot.lot, cut.piece)
        if cut.spot is not None
        else (start, nameless(item), cut.piece)
        for cut in lengths.cuts_for(rows, item, quantity, at)
    ]


def _asked_quantity(writes: Writing, item: Item, remaining: int, cut: bool) -> int:
    """Return what the person said, else what one scan stands for, else all that is still needed.

    What is cut goes along in pieces: a maker's label that says 100 m means the rest of the line.
    """
    if writes.line.quantity is not None:
        return writes.line.quantity
    if not cut and (writes.thing.pack > 1 or item.unit == "piece"):
        return writes.thing.pack
    if remaining < 1:
        raise CannotMove(f"Say how many {item.get_unit_display()} of {item.name}")
    return remaining


def _late_mark(writes: Writing, item: Item, quantity: int) -> bool:
    mark = _SKIPPED.one(subject=writes.line.subject, item=item.pk, quantity=quantity)
    if mark is not None:
        writes.answer(mark, "The scan came later.")
    return mark is not None


def _start(writes: Writing, kit: Kit, item: Item, lot: Lot | None = None) -> Place | None:
    if writes.line.start:
        place = place_of_code(writes.line.start)
        if place is None or place.outside:
            raise CannotMove("Scan the bin it is taken from")
        if place.purpose:
            raise CannotMove(f"What lies at {place.name} came back: look at it first")
        gates.not_claimed(writes, place, kit)
        return place
    if lot is not None and lot.parent_id is not None:
        lies = Holding.objects.filter(lot=lot, quantity__gt=0, outside=False)
        where = the_one(lies.select_related(f"place__{UP}"))
        if where is not None:
            gates.not_claimed(writes, where.place, kit)
            return where.place
    return proposed_place(item)


def take(
    writes: Writing, item: Item, lot: Lot | None, start: Place | None, to: Place, quantity: int
) -> int:
    """Move a quantity; what the book lacks comes from `unexplained`. Return what it lacked."""
    if start is not None and lot is None:
        return writes.item(item, start, to, quantity)
    lot = lot or nameless(item)
    there = min(held(start, lot), quantity) if start is not None else 0
    lacking = quantity - there
    if item.unit == "mm" and start is not None and there and lacking:
        # One piece is one movement: what the book lacks of it lay there too.
        writes.lot(lot, outside(PlaceKind.UNEXPLAINED), start, lacking)
        writes.lot(lot, start, to, quantity, quantity)
    else:
        if start is not None and there:
            writes.lot(lot, start, to, there, there)
        if lacking:
            writes.lot(lot, outside(PlaceKind.UNEXPLAINED), to, lacking)
    if lacking and start is not None:
        held_not = "no piece there holds it" if item.unit == "mm" else f"the book had {there}"
        words = f"the hand took {amount(quantity, item)}, by the book {held_not}."
        writes.ask_count(item, start, lacking, words)
    return lacking


def _pay_back(
    writes: Writing, item: Item, lot: Lot | None, start: Place | None, quantity: int
) -> None:
    """It reached the van or site from `unexplained`; now we know which shelf it left."""
    stock = stock_at(start, item) if start is not None else []
    there = sum(holding.quantity for holding in stock if lot in (None, holding.lot))
    back = outside(PlaceKind.UNEXPLAINED)
    if start is not None and there and lot is not None:
        writes.lot(lot, start, back, min(quantity, there), there)
    elif start is not None and there:
        writes.item(item, start, back, min(quantity, there))


def bags(
    kit: Kit,
    item: Item,
    rows: list[LineProgress],
    parts: Sequence[int],
    target: Place | None = None,
) -> list[list[tuple[Place, int]]]:
    """Say of each part where how much of it goes: each step's bag up to its need, the rest into the
    last; of a length each part is one piece and goes whole."""
    if target is not None or not rows or not in_a_bag(item):
        return [[(target or bay(kit), part)] for part in parts]
    if lengths.is_cut(rows):
        homes = lengths.rows_for(rows, parts)
        return [[(_bag(kit, row), part)] for row, part in zip(homes, parts, strict=True)]
    (quantity,) = parts
    found: list[tuple[Place, int]] = []
    for row in rows:
        part = min(row.to_pick, quantity)
        found.append((_bag(kit, row), part))
        quantity -= part
    last = found.pop()
    found.append((last[0], last[1] + quantity))
    return [[(to, part) for to, part in found if part]]


def _bag(kit: Kit, row: LineProgress) -> Place:
    """Its bag; what is packed when that is at the site already waits in the bay."""
    found = package(kit, Package.Kind.BAG, row.line.step)
    return found if found is not None and found.within(PlaceKind.SITE) is None else bay(kit)


PICK = Act(
    "pick",
    frozenset({Role.WAREHOUSE, Role.MANAGER}),
    gates.decided(confirming.ended(heard(pick))),
    allow=access.allow,
)
