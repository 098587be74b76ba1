"""At the returns desk: a thing comes back, and somebody looks at it before it is stock again."""

from __future__ import annotations

from collections.abc import Callable

from inventory import claiming, claims, pieces, refilling
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.ledger.steps import Ruling, ruling
from inventory.models import (
    Finding,
    Item,
    Lot,
    Person,
    Place,
    PlaceKind,
    Return,
    ReturnKind,
    ReturnStep,
    Role,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.queries import place_of_code, standing, stock_at
from inventory.return_routes import GRAVE, PACKAGING, VERDICTS
from inventory.returns import (
    DESK,
    back_place,
    came,
    free,
    lies,
    note,
    of_event,
    open_of,
    open_return,
    put_right,
    recalled,
    rule_of,
    under,
)
from inventory.returns import standing as all_returns
from inventory.subjects import may_see
from inventory.two_claims import ended
from inventory.words import amount

_RENEWED: list[Callable[[Item], bool]] = []


def register_renewed(asks: Callable[[Item], bool]) -> None:
    """Let `asks` say whether an item is never used again once it was opened."""
    if asks not in _RENEWED:
        _RENEWED.append(asks)


def come_back(writes: Writing) -> Verdict:
    """A thing comes back to the target, a place of the depot; kind: one of ReturnKind.

    A quantity comes from the place in "from": what was brought back there first.
    """
    kind, thing = writes.line.kind, writes.thing
    if kind not in ReturnKind.values:
        raise CannotMove("Say why it comes back")
    to = _target(writes)
    unit = writes.unit_of(thing)
    if unit is not None:
        return _unit(writes, unit, kind, to)
    if thing.place is not None and thing.place.kind == PlaceKind.CARTON:
        return _box(writes, thing.place, kind, to)
    if thing.item is not None and thing.item.tracking != "serial":
        return _quantity(writes, thing.item, thing.lot, kind, to)
    raise CannotMove(thing.question.rstrip(".") or "Scan what comes back")


def _target(writes: Writing) -> Place:
    named = place_of_code(writes.line.target)
    if named is None and not writes.line.target:
        named = Place.objects.filter(kind=PlaceKind.DOCK).order_by("order", "code").first()
    if named is None or named.outside or named.within(PlaceKind.SITE, PlaceKind.VAN):
        raise CannotMove("Scan the place of the depot where it is put")
    return back_place(named)


def _unit(writes: Writing, unit: Unit, kind: str, to: Place) -> Verdict:
    if ruling("put", standing(unit.place)) is Ruling.DISPUTE:
        words = f"{unit} stands fitted at a site by the book, and came back to {to.name}."
        writes.finding(Finding.Kind.CLASH, words, unit=unit)
        return Verdict("dispute", words)
    moved = unit.place_id != to.pk
    if moved:
        writes.unit(unit, to)
    before = all_returns().count()
    found = came(writes, kind, unit)
    new = all_returns().count() > before
    if not moved and not new:
        return Verdict("noted", f"{unit} is here already: {found.code}.")
    claimed = claiming.while_it_runs(writes, unit, kind, writes.line.reason) if new else ""
    said = f"{unit}: {found.get_kind_display()}, {found.code}, at {to.name}."
    return Verdict("applied", f"{said}{claimed}")


def _box(writes: Writing, box: Place, kind: str, to: Place) -> Verdict:
    """A supplier's box comes back as it is, with all that is in it."""
    inside = list(box.units.select_related("item", "lot", "place").order_by("pk"))
    if box.parent_id == to.pk:
        return Verdict("noted", f"{box.name} is here already.")
    writes.container(box, to)
    codes = [came(writes, kind, unit).code for unit in inside]
    claimed = [claiming.while_it_runs(writes, u, kind, writes.line.reason) for u in inside]
    loose = box.holdings.filter(quantity__gt=0).exclude(lot__item__tracking=Tracking.SERIAL)
    codes += [
        open_return(writes, kind, lot=holding.lot, quantity=holding.quantity).code
        for holding in loose.select_related("lot")
    ]
    said = f"{box.name}: {', '.join(codes) or 'empty'}, at {to.name}."
    return Verdict("applied", said + "".join(claimed))


def _quantity(writes: Writing, item: Item, lot: Lot | None, kind: str, to: Place) -> Verdict:
    start, quantity = place_of_code(writes.line.start), writes.line.quantity or writes.thing.pack
    if start is None or start.outside:
        raise CannotMove("Say where it comes from: the van, or the place")
    left = quantity
    waiting = back_place(start)
    for place in dict.fromkeys((waiting, start)):
        for holding in stock_at(place, item):
            part = min(holding.quantity, left)
            if not part or (lot is not None and lot.number and holding.lot.pk != lot.pk):
                continue
            writes.lot(holding.lot, place, to, part)
            left -= part
            if place.pk != waiting.pk:
                open_return(writes, kind, lot=holding.lot, quantity=part)
    if left:
        chosen = lot or nameless(item)
        writes.lot(chosen, outside(PlaceKind.UNEXPLAINED), to, left)
        open_return(writes, kind, lot=chosen, quantity=left)
        said = f"{amount(quantity, item)} came back; the book lacked {left} at {start.name}."
        return Verdict("problem", said)
    return Verdict("applied", f"{amount(quantity, item)} at {to.name}.")


def expect_back(writes: Writing) -> Verdict:
    """The scanned thing, recalled, is to come back from where it stands: its way begins there.

    How it is packed and carried is decided before it travels; it stays set aside meanwhile.
    """
    unit = writes.thing.unit
    if unit is None:
        raise CannotMove(writes.thing.question.rstrip(".") or "Scan what is to come back")
    known = open_of(unit)
    if known is not None:
        return Verdict("noted", f"{unit} comes back already: {known.code}.")
    if not recalled(unit):
        raise CannotMove(f"{unit} is not recalled. Say so where it comes back")
    writes.set_aside(unit, "called back, it is to come back to us")
    found = open_return(writes, ReturnKind.RECALLED, unit=unit, hold=False)
    return Verdict("applied", f"{unit} is to come back: {found.code}.")


def check(writes: Writing) -> Verdict:
    """Somebody looked at what came back: kind is a verdict, for a unit ":" and its packaging.

    target: the shelf it goes to. number: what was read, where the firm asks for it.
    """
    found = of_event(writes)
    verdict, _, packaging = writes.line.kind.partition(":")
    _may_judge(writes, found, verdict)
    _said(found, verdict, packaging)
    words = VERDICTS[verdict]
    words += f", {PACKAGING[packaging]}" if packaging else ""
    rule = rule_of(found.item)
    if rule is not None and rule.reading and verdict != "not_usable":
        if writes.line.number is None:
            raise CannotMove(f"Read first: {rule.reading}")
        words += f", {rule.reading}: {writes.line.number}"
    words += f": {writes.line.reason}" if writes.line.reason else ""
    if found.unit is not None:
        return _checked_unit(writes, found, found.unit, verdict, words)
    return _checked_lot(writes, found, verdict, words)


def _may_judge(writes: Writing, found: Return, verdict: str) -> None:
    thing = found.unit or found.lot
    if thing is not None and verdict != "not_usable" and recalled(thing):
        raise CannotMove(f"{thing} is recalled. Free it on the recall's page when it is put right")
    if found.kind not in GRAVE:
        return
    if not writes.person.has(Role.MANAGER):
        raise CannotMove(f"{found.code} is {found.get_kind_display()}: a manager decides on it")
    told = found.steps.filter(kind=ReturnStep.Kind.TOLD, event__reversed_by=None).exists()
    told = told or (found.unit is not None and put_right(found.unit))
    if found.kind == ReturnKind.RECALLED and not told:
        raise CannotMove("Note first what the maker says becomes of it")


def _said(found: Return, verdict: str, packaging: str) -> None:
    if verdict not in VERDICTS:
        raise CannotMove("Say how it is: as new, usable or not usable")
    if packaging not in PACKAGING and (packaging or found.unit is not None):
        raise CannotMove("Say how it is packed: in its own packing, in other packing or in none")
    rule = rule_of(found.item)
    renewed = any(asks(found.item) for asks in _RENEWED) or (rule and rule.never_again)
    # Only what was never opened is used again; a closed pack is as new.
    if renewed and verdict == "usable":
        raise CannotMove(
            f"{found.item.name} is renewed each time it was opened: as new, or not usable"
        )


def _checked_unit(writes: Writing, found: Return, unit: Unit, verdict: str, words: str) -> Verdict:
    good = verdict != "not_usable"
    note(writes, found, ReturnStep.Kind.CHECKED, words, value=writes.line.kind, closes=good)
    if not good:
        return Verdict("applied", f"{unit}: {words}. It stays set aside.")
    free(writes, found)
    if writes.line.target:
        _to_shelf(writes, unit, _shelf(writes))
    elif unit.place is not None and _apart(unit.place):
        return Verdict("applied", f"{unit}: {words}. Put it on its shelf: there it is stock.")
    return Verdict("applied", f"{unit}: {words}. It is stock again.")


def _to_shelf(writes: Writing, unit: Unit, to: Place) -> None:
    """In the box that holds nothing else, or free."""
    box = unit.place
    if box is not None and box.kind == PlaceKind.CARTON and box.units.count() == 1:
        if box.parent_id != to.pk:
            writes.container(box, to)
    elif unit.place_id != to.pk:
        writes.unit(unit, to)


def _checked_lot(writes: Writing, found: Return, verdict: str, words: str) -> Verdict:
    lot = found.lot
    assert lot is not None, "a return is of one thing"
    to = _shelf(writes) if verdict != "not_usable" else outside(PlaceKind.SCRAP)
    left, labels = found.quantity, ""
    for place in lies(found):
        part = min(sum(h.quantity for h in place.holdings.filter(lot=lot)), left)
        if part and lot.item.unit == "mm" and not to.outside:
            piece = pieces.shelve(writes, lot, place, to, part)
            labels += f" It is {piece.number} now. Print its label." if piece.pk != lot.pk else ""
        elif part:
            writes.lot(lot, place, to, part)
        left -= part
    if left:
        there = amount(found.quantity - left, lot.item)
        raise CannotMove(f"The book has {there} where things that came back lie. Count it")
    note(writes, found, ReturnStep.Kind.CHECKED, words, value=writes.line.kind, closes=True)
    if verdict == "not_usable":
        said = f"{amount(found.quantity, lot.item)}: {words}, scrapped{under(lot)}."
        return Verdict("applied", said)
    refilling.filled(writes, to, lot.item)
    return Verdict("applied", f"{amount(found.quantity, lot.item)}: {words}, at {to.name}.{labels}")


def _shelf(writes: Writing) -> Place:
    to = place_of_code(writes.line.target)
    if to is None or to.outside or to.within(PlaceKind.SITE) or _apart(to):
        raise CannotMove("Scan the shelf it goes to")
    return to


def _apart(place: Place) -> bool:
    return any(around.purpose for around in place.way_up())


def _allow(person: Person, line: Line) -> str:
    """The desk, or whoever works on the job it came back from."""
    if person.has(*DESK):
        return ""
    prefix, _, code = line.subject.partition(":")
    found = all_returns().filter(code=code).select_related("event").first()
    known = prefix == "return" and found is not None and may_see(person, found.event.subject)
    return "" if known else "No such return."


COME_BACK = Act("come_back", DESK, ended(come_back), undo=claims.undone)
EXPECT_BACK = Act("expect_back", DESK, expect_back)
CHECK_BACK = Act("check_back", frozenset(Role.values), check, allow=_allow)
ACTS = (COME_BACK, CHECK_BACK, EXPECT_BACK)
