"""A swap on the wall: the old unit out and the new one in, by one event.

A unit that came off because something is wrong with it is set aside where it lies, its return and
its claim are opened. One that is only replaced comes back like any other thing of the job.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from inventory import carriage, claiming, claims, returns
from inventory.intake import Act, Verdict
from inventory.models import About, Event, Finding, Place, ReturnKind, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.two_claims import ended
from kitting import access, as_built, entering, gates, hand_wins, joining, walking
from kitting.fitting import undo
from kitting.has_come import noticed
from kitting.models import AsBuilt, Kit
from kitting.snapshot import Position

FAULTY: Final = "faulty"  # kind of the event: something is wrong with what came off
DEAD: Final = "dead"  # it never worked
KINDS: Final = {
    FAULTY: (ReturnKind.DAMAGED, About.FAULT),
    DEAD: (ReturnKind.DEAD, About.DEAD),
    gates.DANGER: (ReturnKind.DAMAGED, About.FAULT),
}
"""Kinds of swap for which the old unit is set aside -> why it comes back, what is claimed.

Any other kind: it is only replaced.
"""


@dataclass(frozen=True, slots=True)
class Old:
    """What comes off, and from where."""

    unit: Unit | None  # None: nobody had seen what stood there, and nothing was scanned now
    row: AsBuilt | None  # what the record has at that place
    position: Position
    words: str  # where hand and record differ, "" where they agree


def swap(writes: Writing) -> Verdict:
    """Stand the scanned unit where the one named by "with" stood, at {stack, level} if said."""
    kit = gates.open_kit(writes)
    waiting = walking.waits(writes)
    if waiting is not None:
        return waiting
    new = gates.own_label(writes)
    old = _old(writes, kit)
    if old.unit is not None and old.unit.pk == new.pk:
        raise CannotMove("Scan two things: the one that comes off and the new one")
    claimed = walking.claimed(writes, kit, new, step="fit")
    if claimed is not None:
        return claimed
    _may_stand(writes, kit, new, old)
    said = [_out(writes, kit, old), _in(writes, kit, new, old.position)]
    if old.words:
        writes.finding(Finding.Kind.WRONG, old.words, unit=old.unit or new)
        said.append(Verdict("problem", old.words))
    sentence = " ".join(verdict.sentence for verdict in said)
    worst = "problem" if any(verdict.word == "problem" for verdict in said) else "applied"
    return Verdict(worst, sentence)


def _old(writes: Writing, kit: Kit) -> Old:
    """What comes off by the scan, and what the record has there."""
    site, asked = kit.job.site.place, writes.line.position
    unit = _named(writes, kit) if writes.line.companion else None
    stood = as_built.of(unit) if unit is not None else None
    if stood is not None and stood.site_id == site.pk:
        position = Position(stood.stack, stood.level, stood.role, stood.kind_of.code)
        if asked is None or (asked.stack, asked.level) == (stood.stack, stood.level):
            return Old(unit, stood, position, "")
    if asked is None:
        elsewhere = f"{unit} is not in this stack by the record. " if unit is not None else ""
        raise CannotMove(f"{elsewhere}Say where it stood: stack and place in the stack")
    row = as_built.at(site, asked.stack, asked.level)
    planned = as_built.role_at(kit, asked.stack, asked.level)
    if row is None and planned is None:
        raise CannotMove(f"The record has no place {asked.level} in stack {asked.stack}")
    place = _place(row) if row is not None else planned
    assert place is not None, "looked at before"
    return Old(unit, row, place, _differs(unit, row))


def _place(row: AsBuilt) -> Position:
    return Position(row.stack, row.level, row.role, row.kind_of.code)


def _differs(unit: Unit | None, row: AsBuilt | None) -> str:
    """Where hand and record differ: the hand wins, and somebody is told."""
    if unit is None or (row is not None and row.unit is None):
        return ""
    if row is None:
        return f"{unit} came off a place that was empty by the record."
    return f"{unit} came off stack {row.stack}, place {row.level}; the record had {row.what} there."


def _named(writes: Writing, kit: Kit) -> Unit:
    """The unit that comes off; one that nobody entered before is entered as seen."""
    asked = writes.line.position
    row = as_built.at(kit.job.site.place, asked.stack, asked.level) if asked else None
    item = row.kind_of if row is not None else None
    return entering.unit_standing(writes, writes.line.companion, item)


def _may_stand(writes: Writing, kit: Kit, new: Unit, old: Old) -> None:
    """Gates before the act: nothing has moved yet."""
    gates.not_set_aside(new)
    hand_wins.listed(writes, kit, new.item)
    if old.position.item and new.item.code != old.position.item:
        raise CannotMove(
            f"Place {old.position.level} of stack {old.position.stack} is for "
            f"{old.position.item}, this is {new.item.code}"
        )
    gates.no_barred_mix(kit, new, leaving=old.unit)
    joining.charged(kit, new, old.position)


def _out(writes: Writing, kit: Kit, old: Old) -> Verdict:
    """The old unit lies loose at the site, or in the parcel that was named."""
    to, why = _target(writes, kit), writes.line.reason or "came off faulty"
    if old.row is not None:
        as_built.end(old.row, writes.event)
    if old.unit is None:
        return Verdict("applied", "Nobody had seen what stood there; it is taken out.")
    unit = old.unit
    gates.may_come_off(writes, unit)
    row = as_built.of(unit)
    if row is not None:
        # It stood elsewhere by the record: it cannot stand there any more.
        as_built.end(row, writes.event)
    verdict = walking.walk(writes, kit, unit, lambda: _move(writes, unit, to), step="take_down")
    if verdict.word == "dispute":
        raise CannotMove(verdict.sentence.rstrip("."))
    writes.seen(unit)
    if writes.line.kind not in KINDS:
        return verdict
    writes.set_aside(unit, why[:100])
    said = f"{verdict.sentence} It is set aside: {why}. {_claimed(writes, unit, why)}"
    return Verdict(verdict.word, said)


def _claimed(writes: Writing, unit: Unit, why: str) -> str:
    """Open the return and the claim of a unit that came off; say what is kept for them."""
    kind, about = KINDS[writes.line.kind]
    if returns.open_of(unit) is None:
        returns.open_return(writes, kind, unit=unit, hold=False)
    claim = claiming.faulty(writes, unit, about, why)
    if writes.line.kind == gates.DANGER:
        claiming.removed_for_danger(writes, unit)
    said = f"Claim {claim.code} is open. Keep the new one's box: this one goes back in it."
    if carriage.battery(unit.item):
        return f"{said} {carriage.AT_ONCE}"
    return said


def _move(writes: Writing, unit: Unit, to: Place) -> None:
    if unit.place_id != to.pk:
        writes.unit(unit, to)


def _target(writes: Writing, kit: Kit) -> Place:
    site = kit.job.site.place
    if not writes.line.target:
        return site
    place = Place.objects.filter(code=writes.line.target).first()
    if place is None or (place.subject != kit.subject and place.pk != site.pk):
        raise CannotMove("Scan a parcel of this kit as the target")
    return place


def _in(writes: Writing, kit: Kit, new: Unit, position: Position) -> Verdict:
    site = kit.job.site.place

    def move() -> None:
        writes.unit(new, as_built.stack_place(site, position.stack))
        as_built.stand(writes.event, site, position, new, writes.line.number)

    verdict = walking.walk(writes, kit, new, move, step="fit")
    if verdict.word not in ("applied", "problem"):
        raise CannotMove(verdict.sentence.rstrip("."))
    writes.seen(new)
    done = f"{verdict.sentence} Place {position.level} of stack {position.stack}."
    return Verdict(verdict.word, done)


def take_back(writes: Writing, done: Event) -> None:
    """The stack is what its other events say, and what was claimed by it is withdrawn."""
    undo(writes, done)
    claims.undone(writes, done)


SWAP = Act("swap", frozenset(Role.values), ended(noticed(swap)), allow=access.allow, undo=take_back)
