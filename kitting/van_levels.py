"""What a van or an own bag should carry by what jobs took besides their kits: levels and the chance
they give.

A job asks own bags for what it takes from them. It asks the van for what it takes from the van's
own stock, and for small parts that were told missing or damaged and no bag had. Looked at: the
firm's closed kits of half a year; for a bag those whose crew had one.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from django.conf import settings
from django.db.models import Exists, OuterRef, Q, Sum

from inventory.models import Item, Movement, Place, PlaceKind
from kitting import sparing, standing_list
from kitting.models import Carried, Job, Kit, OwnBag
from kitting.plan import van_stock
from kitting.plan.van_stock import Demand
from kitting.shelves import OWNER, is_own_bag
from kitting.standing_list import USED_UP

BACK: Final = timedelta(days=182)
MOST: Final = 500
"""Closed kits that are looked at: the cost of the page does not grow with the firm's age."""
LEAST_JOBS: Final = 8
"""Closed kits below which nothing is proposed: the spread of fewer says nothing."""
WEEK: Final = 5
"""Workdays for which a van is filled up; its least is for one."""
OF_VANS: Final = Q(from_place__kind=PlaceKind.VAN) | Q(
    from_place__parent__kind=PlaceKind.VAN, from_place__subject=""
)
OF_BAGS: Final = Q(from_place__subject__startswith=OWNER)


@dataclass(frozen=True, slots=True)
class Proposal:
    """One item of a list as the jobs ask for it; every figure in pieces."""

    item: Item
    asked: int  # by all jobs that were looked at
    row: Carried | None  # as the list has it now
    least: int
    up_to: int
    served: float  # part of what a day's jobs ask for that `least` serves

    @property
    def is_so(self) -> bool:
        """Whether the list says the same."""
        return self.row is not None and (self.row.least, self.row.up_to) == (self.least, self.up_to)


@dataclass(frozen=True, slots=True)
class Advice:
    """Levels for one van or own bag, and what they are worth."""

    jobs: int  # closed kits that were looked at
    a_day: int = 0  # jobs of a day with this van or person
    rows: tuple[Proposal, ...] = ()
    target: float = 0.0  # chance that a day's jobs lack nothing of it
    chance: float = 0.0  # with the proposed least levels
    now: float = 0.0  # with those of the list

    @property
    def too_few(self) -> bool:
        """Whether there are too few jobs to say anything."""
        return self.jobs < LEAST_JOBS


@dataclass(slots=True)
class _Asked:
    """What jobs asked for of one item."""

    by_kit: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def figures(self, jobs: int) -> tuple[float, float]:
        """Mean and variance of one job, over all of them."""
        mean = sum(self.by_kit.values()) / jobs
        squares = sum((quantity - mean) ** 2 for quantity in self.by_kit.values())
        squares += (jobs - len(self.by_kit)) * mean**2
        return mean, squares / (jobs - 1)


def advice(place: Place, today: date) -> Advice | None:
    """Return the cheapest levels that reach the firm's chance; None where it aims at none."""
    target = settings.KIT_CHANCE / 100
    if not target:
        return None
    closed = Kit.objects.filter(closed_by__received_at__date__gte=today - BACK)
    own = is_own_bag(place)
    if own:
        had = OwnBag.objects.filter(
            person__jobs=OuterRef("job"), at__lt=OuterRef("closed_by__received_at")
        )
        closed = closed.filter(Exists(had))
    kits = {kit.subject for kit in closed.defer("snapshot").order_by("-closed_by")[:MOST]}
    if len(kits) < LEAST_JOBS:
        return Advice(len(kits))
    asked = _taken(kits, OF_BAGS) if own else _asked_of_vans(kits)
    items = list(Item.objects.filter(pk__in=asked).order_by("name", "code"))
    a_day = _jobs_a_day(place, today)
    days = [_demand(item, asked[item.pk], len(kits), a_day) for item in items]
    weeks = [_demand(item, asked[item.pk], len(kits), a_day * WEEK) for item in items]
    day, week = van_stock.levels(days, target), van_stock.levels(weeks, target)
    listed = standing_list.carried(place)
    rows = [
        Proposal(
            item,
            sum(asked[item.pk].by_kit.values()),
            listed.get(item.pk),
            least,
            max(least, up_to),
            van_stock.served(demand, least),
        )
        for item, demand, least, up_to in zip(items, days, day.counts, week.counts, strict=True)
    ]
    now = van_stock.chance(days, [row.row.least if row.row else 0 for row in rows])
    return Advice(len(kits), a_day, tuple(rows), target, day.chance, now)


def _taken(kits: set[str], where: Q) -> dict[int, _Asked]:
    """Item id -> what these kits took from there besides what was packed for them."""
    taken = Movement.objects.filter(
        where,
        unit=None,
        lot__item__tracking__in=USED_UP,
        lot__item__unit="piece",
        event__subject__in=kits,
        event__step__in=("unbox", "use"),
        event__reversed_by=None,
    )
    found: dict[int, _Asked] = defaultdict(_Asked)
    rows = taken.values_list("event__subject", "lot__item").annotate(Sum("quantity")).order_by()
    for subject, item, quantity in rows:
        found[item].by_kit[subject] = quantity
    return found


def _asked_of_vans(kits: set[str]) -> dict[int, _Asked]:
    """Item id -> what these kits took from vans, or told and took nowhere.

    What was missing and is replaced from the van is told and taken: once, not twice.
    """
    found, of_bags = _taken(kits, OF_VANS), _taken(kits, OF_BAGS)
    told = sparing.lost_singly().filter(
        subject__in=kits,
        unit=None,
        item__tracking__in=USED_UP,
        item__unit="piece",
        item__isnull=False,
    )
    for subject, item, quantity in (
        told.values_list("subject", "item").annotate(Sum("quantity")).order_by()
    ):
        replaced = of_bags[item].by_kit[subject] if item in of_bags else 0
        if quantity > replaced:
            by_kit = found[item].by_kit
            by_kit[subject] = max(by_kit[subject], quantity - replaced)
    return found


def _demand(item: Item, asked: _Asked, jobs: int, ahead: int) -> Demand:
    """What so many jobs ahead ask for; the fewer jobs are known, the wider."""
    mean, variance = asked.figures(jobs)
    wide = 1 + ahead / jobs
    return Demand(item.code, ahead * mean, ahead * max(variance, mean) * wide, sparing.cost(item))


def _jobs_a_day(place: Place, today: date) -> int:
    """Jobs of a day on which the van or bag goes out, rounded up; 1 where it never did."""
    with_it = Q(crew__own_bag__place=place) if is_own_bag(place) else Q(van=place)
    jobs = Job.objects.filter(with_it, cancelled_at=None, date__range=(today - BACK, today))
    days = list(jobs.values_list("date", flat=True))
    return -(-len(days) // len(set(days))) if days else 1
