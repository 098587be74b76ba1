"""When a job breaks for want of something and when it comes: "breaks Thursday, arrives Friday"."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inventory import lead_times, ordering
from inventory.models import Item, OrderLine
from inventory.ordering import Awaited
from kitting.models import Job, Kit
from kitting.sourcing import Short
from kitting.tallies import Progress

FAR = timedelta(days=6)  # beyond, a weekday names no day any more


@dataclass(frozen=True, slots=True)
class Break:
    """One thing that a job lacks."""

    job: Job
    item: Item
    quantity: int  # base units that no shelf covers
    arrives: date | None  # when all of it is promised; None: not all of it is on order
    to_order: int  # base units that nobody has ordered
    days: int | None  # that an order of it takes; None: nobody knows
    today: date

    @property
    def in_time(self) -> bool:
        """Whether it is promised for a day before the job's."""
        return self.arrives is not None and self.arrives < self.job.date

    @property
    def order_by(self) -> date | None:
        """The last day to order it for the day before the job; None: nothing to, or unknown."""
        if not self.to_order or self.days is None:
            return None
        return self.job.date - timedelta(days=self.days + 1)

    @property
    def words(self) -> str:
        """When it breaks and when it arrives, without a full stop."""
        breaks = f"breaks {_day(self.job.date, self.today)}"
        if self.arrives is not None:
            comes = f"arrives {_day(self.arrives, self.today)}"
            return f"{comes}, in time" if self.in_time else f"{breaks}, {comes}"
        if self.order_by is None:
            return f"{breaks}, nobody has ordered it"
        if self.order_by < self.today:
            soonest = self.today + timedelta(days=self.days or 0)
            return f"{breaks}, ordered today it arrives {_day(soonest, self.today)}"
        return f"{breaks}, order it by {_day(self.order_by, self.today)}"


def _day(day: date, today: date) -> str:
    """A weekday where that is clear, else the date, too."""
    near = abs(day - today) <= FAR and day >= today
    return f"{day:%A}" if near else f"{day:%a %-d %b}"


def of(lacking: Mapping[int, Sequence[Short]], kits: Iterable[Kit], today: date) -> list[Break]:
    """Return what each of these kits lacks, what is on order given to the kits in their order.

    lacking: kit id -> what no shelf covers. A promise that has passed counts as of today.
    """
    rows = [(kit, short) for kit in kits for short in lacking.get(kit.pk, ()) if short.known]
    items = {short.item.pk for _, short in rows}
    if not items:
        return []
    coming: dict[int, list[Awaited]] = defaultdict(list)
    for one in ordering.awaited(OrderLine.objects.filter(item__in=items)):
        coming[one.line.item_id].append(one)
    takes = lead_times.days(items)
    return [_one(kit, short, coming[short.item.pk], takes, today) for kit, short in rows]


def _one(
    kit: Kit, short: Short, pool: list[Awaited], takes: Mapping[int, int], today: date
) -> Break:
    """Give a kit of what is coming, the earliest promise first; the pool holds what is left."""
    left, last = short.quantity, None
    while left and pool:
        first = pool.pop(0)
        part = min(first.left, left)
        left -= part
        last = max(first.line.promised_on, today)
        if part < first.left:
            pool.insert(0, replace(first, left=first.left - part))
    arrives = None if left else last
    days = takes.get(short.item.pk)
    return Break(kit.job, short.item, short.quantity, arrives, left, days, today)


@dataclass(frozen=True, slots=True)
class StandIn:
    """So much on the shelves stands in for what is damaged or missing: it only has to be packed."""

    item: Item
    quantity: int  # base units
    damaged: bool  # else missing


def stand_ins(progress: Progress, lacking: Iterable[Short]) -> list[StandIn]:
    """Return what the shelves have for what of a kit has to be replaced. lacking: of this kit."""
    short = {one.item.pk: one for one in lacking}
    found = []
    for total in progress.totals.values():
        lacks = short.get(total.item.pk)
        here = total.to_replace - (lacks.quantity if lacks else 0)
        if here > 0:
            found.append(StandIn(total.item, here, bool(total.damaged)))
    return found


@dataclass(frozen=True, slots=True)
class ToOrder:
    """So much of an item has to be ordered."""

    item: Item
    quantity: int  # base units
    by: date | None  # the last day to order it; None: nobody knows how long it takes
    jobs: tuple[Job, ...]  # that wait for it, the earliest first
    late: bool  # ordered today it comes too late for the first of them
    days: int | None  # that it takes


def to_order(breaks: Iterable[Break], today: date) -> list[ToOrder]:
    """Return what to order, what has to be ordered first first."""
    groups: dict[int, list[Break]] = defaultdict(list)
    for one in sorted(breaks, key=lambda one: one.job.date):
        if one.to_order:
            groups[one.item.pk].append(one)
    found = []
    for rows in groups.values():
        first = rows[0]
        late = first.order_by is not None and first.order_by < today
        by = max(first.order_by, today) if first.order_by is not None else None
        whole = sum(one.to_order for one in rows)
        jobs = tuple(dict.fromkeys(one.job for one in rows))
        found.append(ToOrder(first.item, whole, by, jobs, late, first.days))
    return sorted(found, key=lambda one: (one.by or today, not one.late, one.item.code))
