"""What the label of a thing says about it: when it was made, which revision it is.

Goods-in takes the day from a label that holds it in its code; what is only printed is entered here.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import Event, Role, Unit
from inventory.moving import CannotMove, Writing

STEP = "label_says"
LONGEST = 20  # characters of a revision


def label_says(writes: Writing) -> Verdict:
    """The scanned unit, or the one in the scanned box: kind is the ISO date on which it was made,
    reason its revision; at least one of them."""
    unit, line = _unit(writes), writes.line
    if not line.kind and not line.reason:
        raise CannotMove("Say when it was made, or its revision")
    if len(line.reason) > LONGEST:
        raise CannotMove(f"The revision: expected at most {LONGEST} characters as on the label")
    made = day_of(line.kind) if line.kind else None
    if made is not None and made > writes.event.received_at.date():
        raise CannotMove(f"{made:%-d %b %Y} is still to come. Read the label again")
    _set(writes, unit, made, line.reason)
    writes.learned.append(unit)
    told = [f"made {made:%-d %b %Y}"] if made else []
    told += [f"revision {line.reason}"] if line.reason else []
    return Verdict("applied", f"{unit}: {', '.join(told)}.")


def day_of(text: str) -> date:
    """Return an ISO date. Raises CannotMove."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CannotMove(f"The day: expected 2026-11-25, got {text[:20]}") from None


def _unit(writes: Writing) -> Unit:
    thing = writes.thing
    if thing.unit is not None:
        return thing.unit
    inside = list(Unit.objects.filter(place=thing.place).select_related("item", "lot", "place"))
    if thing.place is None or len(inside) != 1:
        raise CannotMove("Scan one thing with a serial, or its box")
    writes.thing = replace(thing, unit=inside[0])  # so that the scan names the thing itself
    return inside[0]


def _set(writes: Writing, unit: Unit, made: date | None, revision: str) -> None:
    if made is not None:
        writes.read(unit, made_on=made)
    if revision:
        writes.read(unit, revision=revision)


def _undo(writes: Writing, done: Event) -> None:
    """What was read before counts again; nothing where nobody read it before."""
    unit, mine = done.scan.unit, parse(done.line)
    assert unit is not None, "it was about one thing"
    told = Event.objects.filter(step=STEP, scan__unit=unit, reversed_by=None).order_by("-number")
    before = [parse(line) for line in told.values_list("line", flat=True)]
    if mine.kind:
        day = next((line.kind for line in before if line.kind), "")
        writes.read(unit, made_on=day_of(day) if day else None)
    if mine.reason:
        revision = next((line.reason for line in before if line.reason), "")
        writes.read(unit, revision=revision)


ALL = frozenset({Role.WAREHOUSE, Role.MANAGER})
LABEL_SAYS = Act(STEP, ALL, label_says, undo=_undo)
