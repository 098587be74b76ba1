"""What comes back and what was done about it: the only writer of returns.

A part that came back is no stock before somebody looked at it: a thing with a serial is set aside
until then, what is counted lies at a place for returns, from which no job is given anything.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.amending import amended
from inventory.lock import writing
from inventory.models import (
    Item,
    Lot,
    NoticeHit,
    Person,
    Place,
    PlaceKind,
    Purpose,
    Return,
    ReturnKind,
    ReturnRule,
    ReturnStep,
    Role,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
BROKEN = (ReturnKind.DAMAGED, ReturnKind.DEAD)
UNFOLLOWED = (Tracking.TOOL, Tracking.SUPPLY)  # tools come back to their place; supplies are free


def standing() -> QuerySet[Return]:
    """Return those whose event was not undone."""
    return Return.objects.filter(event__reversed_by=None)


def open_ones() -> QuerySet[Return]:
    """Return those that nothing has closed, oldest first."""
    closing = ReturnStep.objects.filter(of=OuterRef("pk"), closes=True, event__reversed_by=None)
    return standing().filter(~Exists(closing))


def open_of(unit: Unit) -> Return | None:
    """Return the newest open return of a unit."""
    found = open_ones().filter(unit=unit).order_by("-pk")
    return found.select_related("unit__item", "event").first()


def open_of_units(units: Iterable[int | None]) -> dict[int, Return]:
    """Return id of a unit -> its newest open return, in one query."""
    wanted = {pk for pk in units if pk is not None}
    rows = open_ones().filter(unit__in=wanted).order_by("pk")
    return {one.unit_id: one for one in rows if one.unit_id is not None}


def recalled(thing: Unit | Lot) -> bool:
    """Whether a recall keeps this thing set aside."""
    on = {"hold__unit" if isinstance(thing, Unit) else "hold__lot": thing}
    return NoticeHit.objects.filter(**on, hold__release=None).exists()


def under(thing: Unit | Lot) -> str:
    """Return " under RC1", the open recalls that keep a thing set aside, or "" for none."""
    on = {"hold__unit" if isinstance(thing, Unit) else "hold__lot": thing}
    hits = NoticeHit.objects.filter(**on, hold__release=None, notice__end=None).order_by("pk")
    codes = ", ".join(hits.values_list("notice__code", flat=True))
    return f" under {codes}" if codes else ""


def put_right(unit: Unit) -> bool:
    """Whether a recall named this unit and it was freed since, with what was done to it."""
    return NoticeHit.objects.filter(hold__unit=unit).exists() and not recalled(unit)


def steps_of(found: Return) -> QuerySet[ReturnStep]:
    """Return what was done about a return and not undone."""
    return found.steps.filter(event__reversed_by=None)


def reason_of(code: str) -> str:
    """Why a thing with a serial that came back is set aside."""
    return f"came back, nobody has looked at it yet ({code})"


def open_return(
    writes: Writing,
    kind: str,
    *,
    unit: Unit | None = None,
    lot: Lot | None = None,
    quantity: int = 1,
    hold: bool = True,
) -> Return:
    """Open a return of a unit or of so much of a lot.

    hold: set the unit aside until somebody has looked at it; False: this event has done so.
    """
    made = Return.objects.create(
        code=f"R{Return.objects.count() + 1}",
        event=writes.event,
        kind=kind,
        unit=unit,
        lot=lot,
        quantity=quantity,
    )
    if unit is not None and hold:
        writes.set_aside(unit, reason_of(made.code))
    return made


def came(writes: Writing, kind: str, unit: Unit) -> Return:
    """Return the open return of a unit; opened now, and anew where it comes for another reason.

    What a recall keeps set aside comes back as that, whatever else was said of it but damage.
    """
    known = open_of(unit)
    if kind not in BROKEN and recalled(unit):
        kind = known.kind if known is not None and known.kind in BROKEN else ReturnKind.RECALLED
    if known is not None and known.kind == kind:
        return known
    made = open_return(writes, kind, unit=unit)
    if known is not None:
        words = f"It comes back for another reason: {made.code}."
        note(writes, known, ReturnStep.Kind.OTHER, words, value=made.code, closes=True)
    return made


def note(
    writes: Writing, found: Return, kind: str, words: str, *, value: str = "", closes: bool = False
) -> ReturnStep:
    """Write down what was done about a return."""
    return ReturnStep.objects.create(
        of=found, event=writes.event, kind=kind, value=value, words=words[:300], closes=closes
    )


def of_event(writes: Writing) -> Return:
    """Return the open return an event is about: its subject's, or that of the scanned unit.

    Raises CannotMove.
    """
    prefix, _, code = writes.line.subject.partition(":")
    unit = writes.thing.unit
    found: Return | None = None
    if prefix == "return":
        found = standing().filter(code=code).select_related("unit__item", "lot__item").first()
        if found is not None and unit is not None and found.unit_id != unit.pk:
            raise CannotMove(f"{unit} is not what {found.code} is about")
    elif unit is not None:
        found = open_of(unit)
    if found is None:
        raise CannotMove("Say which return this is about, or scan what came back")
    if steps_of(found).filter(closes=True).exists():
        raise CannotMove(f"{found.code} is closed")
    return found


def free(writes: Writing, found: Return) -> None:
    """End what set the unit aside when it came back; other reasons stay."""
    if found.unit is None:
        return
    began = {reason_of(found.code), *found.event.holds.values_list("reason", flat=True)}
    for hold in found.unit.holds.filter(release=None, reason__in=began):
        writes.release(hold)


def back_place(at: Place) -> Place:
    """Return where things that came back to this place lie until somebody looked at them."""
    if at.purpose:
        return at
    known = Place.objects.filter(parent=at, purpose=Purpose.RETURNS).order_by("pk").first()
    if known is not None:
        return known
    place, _ = Place.objects.get_or_create(
        code=f"{at.code}-BACK",
        defaults={
            "kind": PlaceKind.BIN,
            "name": f"Came back, {at.name}"[:120],
            "parent": at,
            "purpose": Purpose.RETURNS,
        },
    )
    return place


def lot_back(
    writes: Writing, lot: Lot, start: Place, to: Place, quantity: int, damaged: int = 0
) -> None:
    """So much of a lot comes back to a place of ours; tools and supplies go where they belong.

    damaged: how much of it was told to be so; it is no stock again unless a manager says so.
    """
    if lot.item.tracking in UNFOLLOWED:
        writes.lot(lot, start, to, quantity)
        return
    writes.lot(lot, start, back_place(to), quantity)
    kind = ReturnKind.RECALLED if recalled(lot) else ReturnKind.LEFT
    for why, part in ((ReturnKind.DAMAGED, damaged), (kind, quantity - damaged)):
        if part:
            open_return(writes, why, lot=lot, quantity=part)


def rule_of(item: Item) -> ReturnRule | None:
    """Return what the firm asks when this item comes back."""
    return ReturnRule.objects.filter(item=item).first()


def set_rule(
    item: Item, *, reading: str = "", never_again: bool = False, by: Person | None = None
) -> ReturnRule:
    """Say what is read, and whether it is never used again once opened.

    by: None where a command sets the firm up.
    """
    now = {"reading": reading, "never_again": never_again}
    with writing():
        rows = ReturnRule.objects.filter(item=item)
        amended(by, f"return rule:{item.code}", rows.values(*now).first() or {}, now)
        rule, _ = rows.update_or_create(item=item, defaults=now)
    return rule


def lies(found: Return) -> list[Place]:
    """Return the places for returns that hold some of this return's lot, nearest the depot first"""
    lot = found.lot
    if lot is None:
        return []
    apart = Q(purpose__gt="") | Q(parent__purpose__gt="")  # in a box that came back, too
    rows = Place.objects.filter(apart, holdings__lot=lot, holdings__quantity__gt=0)
    return sorted(rows.distinct(), key=lambda p: (p.within(PlaceKind.VAN) is not None, p.pk))
