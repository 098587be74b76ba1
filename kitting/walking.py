"""One unit going one step along its way: the table of steps, applied."""

from __future__ import annotations

from collections.abc import Callable

from inventory import owed
from inventory.intake import Verdict
from inventory.ledger.steps import Ruling, Standing, jumped, ruling
from inventory.models import Finding, Place, PlaceKind, Unit
from inventory.moving import CannotMove, Writing
from inventory.queries import standing
from kitting import gates, marks
from kitting.models import Kit
from kitting.shelves import is_own_bag

STEP_WORDS = {
    "pick": "picked",
    "load": "loaded",
    "unbox": "unboxed",
    "fit": "fitted",
    "commission": "started",
    "take_down": "taken down",
    "bring_back": "brought back",
}


def unit_of(writes: Writing) -> Unit:
    """Return the scanned unit; one that nobody received is entered as provisional."""
    unit = writes.unit_of(writes.thing, evidence="listed")
    if unit is None:
        raise CannotMove(writes.thing.question.rstrip(".") or "Scan the thing's own label")
    return unit


def waits(writes: Writing) -> Verdict | None:
    """Return the verdict for a thing that nobody received, where the step has to wait for it.

    A serial that nobody knows is the one that a box of this kit owed.
    """
    if owed.named(writes):
        return None
    thing = writes.thing
    step = "fit" if writes.line.step == "swap" else writes.line.step
    if thing.kind != "serial" or ruling(step, Standing.NOWHERE) is not Ruling.WAITING:
        return None
    name = f"{thing.item.name} {thing.serial}" if thing.item else thing.serial
    return Verdict("waiting", f"{name} was never received. It waits until goods-in has it.")


def where_stands(kit: Kit, place: Place | None) -> Standing:
    """Return where a thing stands, seen from this kit; an own bag is as good as a van."""
    if place is not None and is_own_bag(place):
        return Standing.VAN
    return standing(place, kit.subject, kit.job.site.place)


def claimed(writes: Writing, kit: Kit, unit: Unit, step: str = "") -> Verdict | None:
    """Return the dispute over a unit that another kit or site has, None if nobody else claims it.

    It comes before every other gate: what they say is of a thing that may be another crew's.
    """
    ruled = ruling(step or writes.line.step, where_stands(kit, unit.place))
    return dispute(writes, kit, unit) if ruled is Ruling.DISPUTE else None


def walk(
    writes: Writing,
    kit: Kit,
    unit: Unit,
    move: Callable[[], None],
    *,
    thing: Place | None = None,
    step: str = "",
) -> Verdict:
    """Take a unit along the step of the event, as the table says; `move` does the moving.

    thing: the box the unit goes in, if the whole box is moved.
    step: the row of the table, where the event's own step stands for several.
    """
    step, start = step or writes.line.step, unit.place
    where = where_stands(kit, start)
    ruled = ruling(step, where)
    if ruled is Ruling.WAITING:
        return Verdict("waiting", f"{unit} was never received. It waits until goods-in has it.")
    if ruled is Ruling.DISPUTE:
        return dispute(writes, kit, unit)
    if ruled is Ruling.LATE:
        return late(writes, unit, step)
    found = _found_again(writes, unit) if where in (Standing.GONE, Standing.NOWHERE) else ""
    on_van = start is not None and start.within(PlaceKind.VAN) is not None
    skipped = jumped(step, where, on_van=on_van)
    move()
    marked = marks.skip(writes, skipped, unit=unit)
    done = f"{thing.name if thing else unit}: {STEP_WORDS[step]}."
    if not marked and not found and ruled is Ruling.FINDING:
        found = f"The book had {unit} elsewhere."
        writes.finding(Finding.Kind.SURPLUS, found, unit=unit)
    if marked or found:
        return Verdict("problem", " ".join(part for part in (done, found, marked) if part))
    return Verdict("applied", done)


def dispute(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    """Two claims on one unit: nothing moves, a person decides."""
    subject = gates.claimed_by(unit.place, kit)
    words = f"{unit} was scanned for {kit.code} and is claimed elsewhere by the book."
    writes.finding(Finding.Kind.CLASH, words, unit=unit)
    sentence = (
        gates.foreign(writes.person, subject)
        if subject
        else f"{unit} stands at another site by the book. Set it aside"
    )
    return Verdict("dispute", f"{sentence}. The office decides.")


def late(writes: Writing, unit: Unit, step: str = "") -> Verdict:
    """It is there already or further on; the scan fills the mark of a step that was missed."""
    step = step or writes.line.step
    if marks.fill(writes, step, unit=unit):
        return Verdict("noted", f"{unit}: it is further on already; this scan is kept.")
    return Verdict("noted", f"{unit}: {STEP_WORDS[step]} before. Nothing changed.")


def _found_again(writes: Writing, unit: Unit) -> str:
    """A unit that was missing or unknown turned up."""
    missing = Finding.objects.filter(kind=Finding.Kind.MISSING, unit=unit, answer=None).first()
    if missing is not None:
        writes.answer(missing, f"{unit} was found.")
        return f"{unit} was missing and is found."
    if unit.place is not None:
        words = f"{unit} turned up though the book had it gone."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
    else:
        words = f"{unit} was never received."
        writes.finding(Finding.Kind.UNKNOWN, words, unit=unit)
    return words


def box_around(unit: Unit) -> Place | None:
    """Return the supplier's box that holds this unit and nothing else, None if it stands free."""
    box = unit.place
    if box is None or box.kind != PlaceKind.CARTON or box.units.exclude(pk=unit.pk).exists():
        return None
    return box
