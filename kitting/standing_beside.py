"""What a unit has to go with: what stands at the site, what is packed, and the rules of the kit."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations
from typing import Any

from django.db.models import Q

from inventory.models import Item, Unit
from kitting import snapshot
from kitting.models import AsBuilt, Kit
from kitting.plan.made_within import Room, placed
from kitting.shelves import Spot

NOT_READ = "nobody read when it was made: look at its label"


@dataclass(frozen=True, slots=True)
class Need:
    """So many units of an item are still to be picked for a kit."""

    kit: Kit
    item: Item
    quantity: int


@dataclass(slots=True)
class Case:
    """A need with all that its units have to go with."""

    need: Need
    days: int = 0  # most between units of one stack; 0: the parts list bounds nothing
    message: str = ""  # what the parts list says of that bound
    packed: list[Unit] = field(default_factory=list)  # of the kit, not in a stack
    stands: list[AsBuilt] = field(default_factory=list)  # in the stacks, and stays there
    around: list[Unit] = field(default_factory=list)  # at the site besides: what was taken down
    barred: frozenset[frozenset[str]] = frozenset()

    @property
    def beside(self) -> frozenset[str]:
        """Revisions of all that stands there or is packed, as far as they are known."""
        units = [row.unit for row in self.stands if row.unit] + self.packed + self.around
        return frozenset(unit.revision for unit in units) - {""}

    def against(self, spot: Spot, beside: frozenset[str]) -> str:
        """Say why a unit may not go there, "" if it may. beside: revisions it has to go with."""
        unit, job = spot.unit, self.need.kit.job
        assert unit is not None, "asked of units only"
        if spot.expired(job.date):
            return f"expires on {spot.lot.expires_on:%-d %b %Y}, before the job"
        reason = snapshot.barred(self.need.kit, unit.revision, set(beside))
        if reason:
            return f"revision {unit.revision}: {reason.rstrip('.')}"
        return self.made_apart(unit)

    def made_apart(self, unit: Unit, offered: Iterable[Unit] = ()) -> str:
        """Say why the day on which a unit was made keeps it out, "" if it does not.

        offered: units that go with it besides what is packed.
        """
        if not self.days or unit.made_on is None:
            return ""
        others = [*self.packed, *offered]
        made = sorted(
            [unit.made_on, *(one.made_on for one in others if one.made_on and one.pk != unit.pk)]
        )
        rooms = list(self._empty().values())
        # One beyond the places, put on the list by hand, stands in no stack by the plan.
        beyond = len(made) > sum(room.count for room in rooms)
        if beyond or placed(made, rooms, self.days) is not None:
            return ""
        return (
            f"made {unit.made_on:%-d %b %Y}, more than {self.days} days apart from what "
            f"{'stands there' if self.stands else 'is packed'}: {self.message}"
        )

    def bar(self, revisions: Iterable[str]) -> None:
        """Work out which of these revisions may not stand together."""
        pairs = combinations(sorted(set(revisions) - {""}), 2)
        kit = self.need.kit
        self.barred = frozenset(
            frozenset(pair) for pair in pairs if snapshot.barred(kit, pair[0], {pair[1]})
        )

    def note(self, spot: Spot) -> str:
        """Say what to look at before a unit is taken, "" for nothing."""
        unit = spot.unit
        assert unit is not None, "asked of units only"
        notes = [NOT_READ] if self.days and unit.made_on is None else []
        for row in self.need.kit.snapshot["mixing"]:
            mixed = {unit.revision} | self.beside
            both = unit.revision in row["revisions"] and len(mixed & set(row["revisions"])) > 1
            if both and row["verdict"] == "allowed if":
                notes.append(row["message"])
        return "; ".join(notes)

    def rooms(self, more: Sequence[date] = (), undated: int = 0) -> dict[int, Room]:
        """Return stack -> what it still takes after what is packed, and `more` beside it."""
        empty = self._empty()
        made = sorted([*self._made(), *more])
        seats = placed(made, list(empty.values()), self.days)
        taken: dict[int, list[date]] = defaultdict(list)
        for seat, day in zip(seats or (), made, strict=False):
            taken[list(empty)[seat]].append(day)
        loose = undated + sum(unit.made_on is None for unit in self.packed)
        loose += len(made) if seats is None else 0
        left = {}
        for number, room in empty.items():
            count = room.count - len(taken[number])
            filled = min(loose, count)
            loose -= filled
            days = [day for day in (room.oldest, room.newest, *taken[number]) if day]
            left[number] = Room(count - filled, min(days, default=None), max(days, default=None))
        return left

    def _made(self) -> list[date]:
        return [unit.made_on for unit in self.packed if unit.made_on is not None]

    def _empty(self) -> dict[int, Room]:
        """Stack -> its free places, and the days of what stands in it."""
        code, filled = self.need.item.code, {(row.stack, row.level) for row in self.stands}
        places = [p for p in snapshot.positions(self.need.kit) if p.item == code]
        free = Counter(p.stack for p in places if (p.stack, p.level) not in filled)
        made: dict[int, list[date]] = defaultdict(list)
        for row in self.stands:
            if row.unit is not None and row.unit.made_on is not None:
                made[row.stack].append(row.unit.made_on)
        return {
            stack: Room(count, min(made[stack], default=None), max(made[stack], default=None))
            for stack, count in sorted(free.items())
        }


def cases(needs: Sequence[Need]) -> list[Case]:
    """Return each need with what its units have to go with, in three queries for all of them."""
    found = [_ruled(need) for need in needs]
    if not found:
        return found
    items = {need.item.pk for need in needs}
    kits = {need.kit.pk: need.kit for need in needs}
    stands, down = _standing(kits, items)
    loose = _loose(kits, items)
    for case in found:
        kit, item = case.need.kit, case.need.item
        swapped = {(at["stack"], at["level"]) for at in _swapped(kit)}
        case.stands = [
            row
            for row in stands
            if row.site_id == kit.job.site.place_id
            and row.unit is not None
            and row.unit.item_id == item.pk
            and (row.stack, row.level) not in swapped
        ]
        for unit in loose[kit.pk]:
            if unit.item_id == item.pk:
                (case.around if (kit.subject, unit.pk) in down else case.packed).append(unit)
    return found


def case_of(kit: Kit, item: Item) -> Case:
    """Return what a unit of this item has to go with in this kit."""
    return cases([Need(kit, item, 0)])[0]


def _ruled(need: Need) -> Case:
    for row in need.kit.snapshot.get("made_within", ()):
        if need.item.code in row["items"]:
            return Case(need, int(row["days"]), str(row["message"]))
    return Case(need)


def _swapped(kit: Kit) -> list[dict[str, Any]]:
    """The places whose units are replaced: what stands there goes."""
    return list(kit.snapshot["configuration"].get("swap", ()))


def _standing(
    kits: Mapping[int, Kit], items: Iterable[int]
) -> tuple[list[AsBuilt], set[tuple[str, int]]]:
    """What stands at the sites of these kits; what their jobs took down, as (subject, unit)."""
    rows = AsBuilt.objects.filter(unit__item__in=items)
    sites = {kit.job.site.place_id for kit in kits.values()}
    subjects = [kit.subject for kit in kits.values()]
    stands = list(rows.filter(site__in=sites, until=None).select_related("unit"))
    gone = rows.filter(until__subject__in=subjects)
    return stands, set(gone.values_list("until__subject", "unit"))


def _loose(kits: Mapping[int, Kit], items: Iterable[int]) -> dict[int, list[Unit]]:
    """Kit -> units in its places and boxes, and loose at its site."""
    by_subject = {kit.subject: kit.pk for kit in kits.values()}
    by_site = defaultdict(list)
    for kit in kits.values():
        by_site[kit.job.site.place_id].append(kit.pk)
    there = Q(place__subject__in=by_subject) | Q(place__parent__subject__in=by_subject)
    units = Unit.objects.filter(there | Q(place__in=by_site), item__in=items)
    found: dict[int, list[Unit]] = defaultdict(list)
    for unit in units.select_related("place__parent"):
        place = unit.place
        assert place is not None, "they were looked for by their place"
        subject = place.subject or (place.parent.subject if place.parent else "")
        own = [by_subject[subject]] if subject in by_subject else by_site[place.pk]
        for kit_pk in own:
            found[kit_pk].append(unit)
    return found
