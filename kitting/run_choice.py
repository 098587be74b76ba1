"""Oldest first or most stacks: what each means today, and the firm's choice between them.

The only writer of that choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.lock import writing
from inventory.models import Item, Person, Tracking
from kitting import offering, still_needed
from kitting.models import Kit, RunChoice
from kitting.packing import Reason, Refused
from kitting.plan.one_run import WAYS


@dataclass(frozen=True, slots=True)
class OneStack:
    """One stack that waits, under one choice."""

    kit: str  # its code
    stack: int
    needed: int
    whole: bool


@dataclass(frozen=True, slots=True)
class OneWay:
    """What one choice would mean for one item."""

    way: str
    title: str
    stacks: tuple[OneStack, ...]
    age_left: int  # days, of all units that stay, added up
    oldest_left: date | None
    proven: bool

    @property
    def whole(self) -> int:
        """Stacks that are whole and from one run."""
        return sum(stack.whole for stack in self.stacks)


@dataclass(frozen=True, slots=True)
class SideBySide:
    """One item under both choices."""

    item: Item
    ways: tuple[OneWay, ...]


def side_by_side() -> list[SideBySide]:
    """Return both choices for each item of which stacks wait for units of one run."""
    kits = list(still_needed.open_kits().filter(lines__item__tracking=Tracking.SERIAL).distinct())
    items = {
        line.item_id: line.item
        for kit in kits
        for line in kit.lines.filter(item__tracking=Tracking.SERIAL).select_related("item")
        if _bounded(kit, line.item)
    }
    needs = [need for need in still_needed.needs(list(items.values())) if need.quantity]
    found: dict[int, list[OneWay]] = {}
    for way in WAYS:
        for item, stacks, chosen in offering.whole_stacks(needs, way):
            told = tuple(
                OneStack(stack.job, int(stack.key.rpartition("/")[2]), stack.room.count, whole)
                for stack in stacks
                for whole in [stack.key in chosen.runs]
            )
            title = RunChoice.Way(way).label.capitalize()
            one = OneWay(way, title, told, chosen.age_left, chosen.oldest_left, chosen.proven)
            found.setdefault(item.pk, []).append(one)
    return [SideBySide(items[pk], tuple(ways)) for pk, ways in found.items()]


def _bounded(kit: Kit, item: Item) -> bool:
    return any(item.code in row["items"] for row in kit.snapshot.get("made_within", ()))


def in_force() -> RunChoice | None:
    """Return the choice that counts, None where nobody chose: oldest first."""
    return RunChoice.objects.select_related("by").order_by("-pk").first()


def set_way(way: str, by: Person, reason: str) -> RunChoice:
    """Choose for the firm. Raises Refused, every reason."""
    reasons = []
    if way not in RunChoice.Way.values:
        told = " or ".join(RunChoice.Way.values)
        reasons.append(Reason("way", f"expected {told}, got {way[:20]!r}"))
    if not reason.strip():
        reasons.append(Reason("reason", "Why: expected a reason, got nothing"))
    if reasons:
        raise Refused(reasons)
    with writing():
        return RunChoice.objects.create(way=way, by=by, reason=reason.strip()[:200])
