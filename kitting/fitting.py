"""Fitting and starting: which unit stands where, and the number its electronics show."""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.ledger.line import Position as Spot
from inventory.ledger.steps import Standing
from inventory.models import Event, Finding, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.two_claims import ended
from kitting import access, as_built, gates, hand_wins, joining, screens, walking
from kitting.has_come import noticed
from kitting.models import AsBuilt, Kit
from kitting.progress import taken_down
from kitting.snapshot import Position


def fit(writes: Writing) -> Verdict:
    """Stand a unit at its position {stack, level}; its own label is demanded."""
    kit = gates.open_kit(writes)
    waiting = walking.waits(writes)
    if waiting is not None:
        return waiting
    unit = gates.own_label(writes)
    row = as_built.of(unit)
    if row is not None and row.site_id == kit.job.site.place_id:
        return _stands_already(writes, row, unit)
    return walking.claimed(writes, kit, unit) or _fit(writes, kit, unit)


def _stands_already(writes: Writing, row: AsBuilt, unit: Unit) -> Verdict:
    asked = writes.line.position
    if asked is None or (asked.stack, asked.level) == (row.stack, row.level):
        return walking.late(writes, unit)
    stands = f"{unit} stands at place {row.level} of stack {row.stack}"
    if not _by_another_phone(writes, row):
        raise CannotMove(f"{stands}. Take it down first")
    return _two_say(writes, unit, asked, stands)


def _by_another_phone(writes: Writing, row: AsBuilt) -> bool:
    """Whether neither of the two could know of the other: both have been fitting."""
    return row.since.device_id != writes.event.device_id


def _two_say(writes: Writing, unit: Unit, asked: Spot, stands: str) -> Verdict:
    """Two phones tell of one unit or one place what cannot both be: a person looks."""
    other = f"another phone has {unit} at place {asked.level} of stack {asked.stack}"
    writes.finding(Finding.Kind.CLASH, f"{stands}; {other}. Look which is right.", unit=unit)
    return Verdict("dispute", f"{stands} by another phone's scan. Look which of the two is right.")


def _holds_another(writes: Writing, kit: Kit, unit: Unit) -> Verdict | None:
    """The place holds another unit by the scan of another phone."""
    asked = writes.line.position
    row = as_built.at(kit.job.site.place, asked.stack, asked.level) if asked else None
    if asked is None or row is None or row.unit is None or not _by_another_phone(writes, row):
        return None
    where = f"Place {asked.level} of stack {asked.stack}"
    return _two_say(writes, unit, asked, f"{where} holds {row.unit}")


def _position(writes: Writing, kit: Kit, unit: Unit) -> Position:
    """The place named by the event, free and planned for this item."""
    asked = writes.line.position
    if asked is None:
        raise CannotMove("Say where it stands: stack and place in the stack")
    position = as_built.role_at(kit, asked.stack, asked.level)
    if position is None:
        raise CannotMove(f"The plan has no place {asked.level} in stack {asked.stack}")
    if position.item and position.item != unit.item.code:
        raise CannotMove(
            f"Place {asked.level} of stack {asked.stack} is for {position.item}, "
            f"this is {unit.item.code}"
        )
    taken = as_built.at(kit.job.site.place, asked.stack, asked.level)
    if taken is not None:
        raise CannotMove(
            f"Place {asked.level} of stack {asked.stack} holds {taken.unit}. Take it down first"
        )
    return position


def _fit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    clash = _holds_another(writes, kit, unit)
    if clash is not None:
        return clash
    position = _position(writes, kit, unit)
    gates.not_set_aside(unit)
    # What this job took down may stand again: a head on a stack that has grown.
    if unit.pk not in taken_down(kit):
        hand_wins.listed(writes, kit, unit.item)
    gates.no_barred_mix(kit, unit)
    joining.charged(kit, unit, position)
    site = kit.job.site.place
    if walking.where_stands(kit, unit.place) is Standing.STACK:
        return walking.late(writes, unit)

    def move() -> None:
        writes.unit(unit, as_built.stack_place(site, position.stack))
        as_built.stand(writes.event, site, position, unit, writes.line.number)

    verdict = walking.walk(writes, kit, unit, move)
    if verdict.word not in ("applied", "problem"):
        return verdict
    writes.seen(unit)
    screens.settle(writes, kit, unit)
    done = f"{verdict.sentence} Place {position.level} of stack {position.stack}."
    return _number_is_free(writes, unit, Verdict(verdict.word, done))


def commission(writes: Writing) -> Verdict:
    """Note the number on screen and the firmware; a unit not fitted yet is fitted.

    kind "screen": the text is the end of a serial as the screen shows it, see screens.
    """
    kit = gates.open_kit(writes)
    if screens.is_shown(writes):
        row = screens.shown(writes, kit)
        return _started(writes, row) if row is not None else _stranger(writes)
    waiting = walking.waits(writes)
    if waiting is not None:
        return waiting
    unit = gates.own_label(writes)
    where = walking.where_stands(kit, unit.place)
    row = as_built.of(unit)
    if where is Standing.STACK and row is not None:
        screens.note(writes, kit, unit)
        return _started(writes, row)
    verdict = walking.claimed(writes, kit, unit) or _fit(writes, kit, unit)
    row = as_built.of(unit)
    if row is not None and verdict.word in ("applied", "problem"):
        as_built.note(row, writes.line.number, as_built.firmware_of(writes.line))
        screens.note(writes, kit, unit)
    return verdict


def _started(writes: Writing, row: AsBuilt) -> Verdict:
    unit, number = row.unit, writes.line.number
    assert unit is not None, "what nobody has seen is not started"
    gates.not_set_aside(unit)
    as_built.note(row, number, as_built.firmware_of(writes.line))
    done = f"{unit}: started."
    if number is not None:
        done = f"{unit}: started as number {number} on screen."
    return _number_is_free(writes, unit, Verdict("applied", done))


def _stranger(writes: Writing) -> Verdict:
    """On the screen and not scanned here: two lists that should be one."""
    line = writes.line
    number = f" as number {line.number}" if line.number is not None else ""
    words = f"The screen shows {line.text}{number}; nothing scanned here ends so."
    writes.finding(Finding.Kind.WRONG, words)
    return Verdict("problem", f"{words} Scan the label of what stands there.")


def _number_is_free(writes: Writing, unit: Unit, verdict: Verdict) -> Verdict:
    """Two units of a site that show one number will not work together: say so."""
    row, number = as_built.of(unit), writes.line.number
    if row is None or number is None:
        return verdict
    same = AsBuilt.objects.filter(site=row.site, until=None, number=number, unit__item=unit.item)
    twin = same.exclude(pk=row.pk).select_related("unit__item").first()
    if twin is None:
        return verdict
    words = f"{unit} and {twin.unit} both show number {number} on screen."
    writes.finding(Finding.Kind.WRONG, words, unit=unit)
    return Verdict("problem", f"{verdict.sentence} {words}")


def undo(writes: Writing, done: Event) -> None:
    """What stands at the site follows from the events that are left."""
    kit = access.kit_of_subject(done.subject)
    if kit is not None:
        as_built.refold(kit.job.site.place)


FIT = Act("fit", frozenset(Role.values), ended(noticed(fit)), allow=access.allow, undo=undo)
COMMISSION = Act(
    "commission", frozenset(Role.values), ended(noticed(commission)), allow=access.allow, undo=undo
)
