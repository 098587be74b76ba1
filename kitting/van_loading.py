"""A van's day as it is loaded: the last visit goes in first, and stands behind all others."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from inventory.models import ItemCode, Person, Place
from kitting.models import Job, Kit
from kitting.travelling import Load, loads_of


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing to load and what may be scanned on it."""

    load: Load
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Turn:
    """One visit's things."""

    visit: int  # 1 = the first of the day
    job: Job
    kit: Kit
    loads: tuple[Waiting, ...]  # those not on the van yet first

    @property
    def left(self) -> int:
        """What is not on the van yet."""
        return sum(not one.load.loaded for one in self.loads)


def turns(van: Place, day: date, crew: Person | None = None) -> list[Turn]:
    """Return the visits of a van's day whose kits are released and open, in order of loading.

    crew: only the visits of this person.
    """
    jobs = Job.objects.filter(van=van, date=day, cancelled_at=None).select_related("site__place")
    if crew is not None:
        jobs = jobs.filter(crew=crew)
    whole = jobs.prefetch_related("kits").order_by("leaves_at", "code")
    found = []
    for visit, job in enumerate(whole, 1):
        kit = max(job.kits.all(), key=lambda one: one.revision, default=None)
        if kit is not None and kit.is_open:
            kit.job = job
            found.append((visit, job, kit, loads_of(kit)))
    printed = _printed([load for *_, loads in found for load in loads])
    return [
        Turn(visit, job, kit, tuple(Waiting(load, _keys(load, printed)) for load in loads))
        for visit, job, kit, loads in reversed(found)
    ]


def _printed(loads: Iterable[Load]) -> dict[int, list[str]]:
    """Item id -> article numbers, of what goes on the van by its own code."""
    items = {load.item.pk for load in loads if load.item is not None}
    found: dict[int, list[str]] = {}
    codes = ItemCode.objects.filter(item__in=items, label_pattern=False)
    for item, key in codes.values_list("item", "key"):
        found.setdefault(item, []).append(key)
    return found


def _keys(load: Load, printed: dict[int, list[str]]) -> tuple[str, ...]:
    keys = [load.code] if load.code else []
    if load.unit is not None:
        return (*keys, load.unit.serial, load.unit.serial_key)
    if load.item is not None:
        keys += [load.item.code, *printed.get(load.item.pk, ())]
    return tuple(keys)
