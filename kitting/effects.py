"""What an edition would change on all open jobs, before anybody makes it current.

Each open job is worked out anew and compared with the kit it has. Three questions to the database,
however many jobs there are; the same configuration is worked out once.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

from django.db.models import OuterRef, Subquery

from kitting import families, signing
from kitting.models import FamilyEdition, Kit, KitLine
from kitting.plan import configuration as configurations
from kitting.plan import kit as plan
from kitting.plan.difference import Difference, Net, of_lines
from kitting.plan.errors import ConfigurationError
from kitting.plan.family import Family
from kitting.plan.lines import Line, Reason

STORED = (Reason("", "", "as the kit has it", ""),)


@dataclass(frozen=True, slots=True)
class Changed:
    """One open job whose kit would be another."""

    kit: Kit
    difference: Difference
    asks: tuple[str, ...]  # what a person would have to sign for it

    @property
    def stays(self) -> bool:
        """Whether it is with the warehouse already: it stays as it is unless changed by hand."""
        return self.kit.released_at is not None


@dataclass(frozen=True, slots=True)
class Refused:
    """One open job that could not be as it is planned."""

    kit: Kit
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Effect:
    """What becomes of every open job of a family."""

    unchanged: tuple[Kit, ...]
    changed: tuple[Changed, ...]
    refused: tuple[Refused, ...]

    @property
    def jobs(self) -> int:
        """Open jobs looked at."""
        return len(self.unchanged) + len(self.changed) + len(self.refused)

    @cached_property
    def more(self) -> tuple[tuple[Net, int], ...]:
        """Item by item over the kits that are not out yet: (item, base units) to take more."""
        return _summed(net for one in self._to_come() for net in one.difference.to_pick())

    @cached_property
    def less(self) -> tuple[tuple[Net, int], ...]:
        """The same, to take less."""
        return _summed(net for one in self._to_come() for net in one.difference.to_return())

    def _to_come(self) -> Iterator[Changed]:
        return (one for one in self.changed if not one.stays)


def of_edition(edition: FamilyEdition) -> Effect:
    """Work out every open job of the family anew with this edition."""
    kits = open_kits(edition.name)
    already = [kit for kit in kits if kit.edition_id == edition.pk]
    others = [kit for kit in kits if kit.edition_id != edition.pk]
    stored = _as_the_list_had(_lines(others))
    family = families.family_of(edition)
    found = _compared(
        family, ((kit, kit.job.configuration, stored.get(kit.pk, [])) for kit in others)
    )
    return replace(found, unchanged=(*already, *found.unchanged))


def open_kits(name: str) -> list[Kit]:
    """Return the latest kit of each job of a family that is neither cancelled nor closed."""
    latest = Kit.objects.filter(job=OuterRef("job")).order_by("-revision").values("pk")[:1]
    kits = Kit.objects.filter(pk=Subquery(latest), closed_by=None, job__cancelled_at=None)
    kits = kits.filter(edition__name=name).select_related("job__site__place").defer("snapshot")
    # Without the snapshots, which are megabytes for a thousand kits: the job says what is asked.
    return list(kits.order_by("job__date", "code"))


def _lines(kits: Iterable[Kit]) -> dict[int, list[Line]]:
    # Spares follow what got lost before, not the parts list.
    rows = KitLine.objects.filter(kit__in=[kit.pk for kit in kits], spare=False)
    rows = rows.order_by("kit", "order")
    stored: dict[int, list[Line]] = defaultdict(list)
    names = ("kit_id", "item__code", "item__name", "item__tracking", "quantity", "unit", "step")
    for kit, code, name, tracking, quantity, unit, step in rows.order_by(
        "kit", "order"
    ).values_list(*names):
        stored[kit].append(Line(code, name, tracking, quantity, unit, step, STORED))
    return stored


def _as_the_list_had(stored: dict[int, list[Line]]) -> dict[int, list[Line]]:
    """Kit id -> its lines without what hands made of them: that survives every list."""
    rows = Kit.objects.filter(pk__in=list(stored), job__hand_lines__isnull=False).distinct()
    found = dict(stored)
    for kit, noted in rows.order_by().values_list("pk", "snapshot__by_hand"):
        engine = {(note["item"], note["step"]): note["engine"] for note in noted or ()}
        lines = {(line.item, line.step): line for line in stored[kit]}
        for key, quantity in engine.items():
            # A line that a hand took off has only its code here; it is told by the new list.
            bare = Line(key[0], key[0], "count", 1, "piece", key[1], STORED)
            line = lines.pop(key, bare)
            if quantity:
                lines[key] = replace(line, quantity=quantity)
        found[kit] = list(lines.values())
    return found


def _compared(family: Family, asked: Iterable[tuple[Kit, Mapping[str, Any], list[Line]]]) -> Effect:
    """Each kit beside what the family makes of its configuration."""
    worked = _Worked(family)
    unchanged, changed, refused = [], [], []
    for kit, answers, stored in asked:
        new = worked.out(answers)
        if new.reasons:
            refused.append(Refused(kit, new.reasons))
            continue
        difference = of_lines(stored, new.lines)
        if difference or new.asks:
            changed.append(Changed(kit, difference, new.asks))
        else:
            unchanged.append(kit)
    return Effect(tuple(unchanged), tuple(changed), tuple(refused))


class _Out(NamedTuple):
    """What a configuration comes to."""

    lines: tuple[Line, ...]
    reasons: tuple[str, ...]  # every one against it
    asks: tuple[str, ...]  # what a person has to sign


class _Worked:
    """Works configurations out, each once."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.known: dict[str, _Out] = {}

    def out(self, answers: Mapping[str, Any]) -> _Out:
        """What a configuration comes to by this list."""
        key = json.dumps(answers, sort_keys=True)
        if key not in self.known:
            self.known[key] = self._out(answers)
        return self.known[key]

    def _out(self, answers: Mapping[str, Any]) -> _Out:
        try:
            found = plan.work_out(self.family, configurations.parse(dict(answers), self.family))
        except ConfigurationError as error:
            return _Out((), tuple(map(str, error.faults)), ())
        # Kits as stored have no single pieces: a length is compared as a whole.
        lines = tuple(replace(line, pieces=()) if line.pieces else line for line in found.lines)
        asks = tuple(signing.worded(one.question) for one in found.unresolved if not one.axis)
        return _Out(lines, tuple(refusal.message for refusal in found.refused), asks)


def _summed(nets: Iterable[Net]) -> tuple[tuple[Net, int], ...]:
    """Nets of many kits put together by item."""
    first: dict[str, Net] = {}
    total: dict[str, int] = defaultdict(int)
    for net in nets:
        first.setdefault(net.item, net)
        total[net.item] += net.quantity
    return tuple((first[code], total[code]) for code in sorted(first))
