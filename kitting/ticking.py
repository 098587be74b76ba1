"""Ticks and photos that the firm or the law wants of a stack: few, and one for all like joints."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from django.conf import settings
from django.db.models import Q

from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import Finding, Role
from inventory.moving import CannotMove, Writing
from kitting import access, gates
from kitting.models import AsBuilt, Kit, Ticked
from kitting.plan import ticks

WHY_NOT: Final = (
    "the maker's manual does not ask for it here",
    "another trade does it",
    "it is done on a later visit",
    "nobody gets at it any more",
)
"""Why something was not done, to choose from; a person's own words do as well."""


@dataclass(frozen=True)
class Wanted:
    """One tick that a kit asks for, and what came of it."""

    asked: ticks.Asked
    row: Ticked | None  # the latest that was not taken back; None: not answered

    @property
    def words(self) -> str:
        """With its stack: "stack 1: covers and labels on"."""
        return f"stack {self.asked.stack}: {self.asked.words[0].lower()}{self.asked.words[1:]}"

    @cached_property
    def why_not(self) -> str:
        """Why it was not done; "" where it was, or nobody has said yet."""
        return parse(self.row.event.line).reason if self.row is not None else ""


def wanted_of(kit: Kit) -> list[Wanted]:
    """Return what a kit asks to be ticked, stack by stack in the order of the work."""
    rows = Ticked.objects.filter(kit=kit, event__reversed_by=None)
    done = {(row.stack, row.key): row for row in rows.select_related("event__person")}
    return [Wanted(one, done.get((one.stack, one.key))) for one in _asked(kit)]


def unanswered(kit: Kit) -> list[Wanted]:
    """What nobody ticked yet, nor said why not, of stacks where units of this kit came or went."""
    changed = AsBuilt.objects.filter(Q(since__subject=kit.subject) | Q(until__subject=kit.subject))
    stacks = set(changed.values_list("stack", flat=True))
    return [one for one in wanted_of(kit) if one.row is None and one.asked.stack in stacks]


def _asked(kit: Kit) -> list[ticks.Asked]:
    lines = kit.lines.filter(spare=False).values_list("reasons", flat=True)
    needed = [(one["need"], one.get("place", "")) for reasons in lines for one in reasons]
    needed += [(one["need"], one["place"]) for one in kit.snapshot.get("tasks", ())]
    return ticks.asked(needed, settings.TICKS)


def tick(writes: Writing) -> Verdict:
    """Tick "kind" at the stack that "number" says, with a photo where one is wanted; or say by
    "reason" why it was not done, which the office sees."""
    kit, line = gates.open_kit(writes), writes.line
    found = [one for one in wanted_of(kit) if one.asked.key == line.kind]
    one = next((one for one in found if one.asked.stack == line.number), None)
    if one is None:
        raise CannotMove(f"{kit.code} does not ask for this tick")
    if one.row is not None:
        return Verdict("noted", f"{one.words}: ticked before by {one.row.event.person.name}.")
    if one.asked.photo and not line.photo and not line.reason:
        raise CannotMove("Take the photo first")
    Ticked.objects.create(
        event=writes.event, kit=kit, stack=one.asked.stack, key=line.kind, photo=line.photo
    )
    if line.reason:
        writes.finding(Finding.Kind.NOT_DONE, f"Not done at {one.words}: {line.reason}.")
        return Verdict("problem", f"Not done at {one.words}: {line.reason}. The office sees it.")
    return Verdict("applied", f"Ticked: {one.words}.")


TICK = Act("tick", frozenset(Role.values), tick, allow=access.allow)
