"""A kit's lines beside the tools of the same van's earlier visits: one tool serves them all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from typing import Any

from django.db.models import F, QuerySet

from inventory.models import Item, Tracking
from inventory.rows import Question, Slot
from kitting.models import Job, Kit, KitLine


def with_tools_of_before(kit: Kit, only: Item | None) -> tuple[list[KitLine], dict[int, int]]:
    """Return the lines in order; item id -> tools that the same van takes along for visits before
    this one that day: one tool serves them all. One statement."""
    job, item = kit.job, only.pk if only is not None else 0
    which = _question(job.van_id is not None, only is not None, only is None or only.unit == "mm")
    return _parted(kit, which.ask(kit=kit.pk, date=job.date, van=job.van_id, item=item))


def of_each(kits: Sequence[Kit]) -> list[tuple[list[KitLine], dict[int, int]]]:
    """Return the same of each kit with all its items, by two statements at most."""
    found: dict[int, list[KitLine]] = {}
    for of_van in (False, True):
        some = [kit for kit in kits if (kit.job.van_id is not None) == of_van]
        many = [
            {"kit": kit.pk, "date": kit.job.date, "van": kit.job.van_id, "item": 0} for kit in some
        ]
        rows = _question(of_van, False, True).ask_each(many)
        found |= {kit.pk: lines for kit, lines in zip(some, rows, strict=True)}
    return [_parted(kit, found[kit.pk]) for kit in kits]


def _parted(kit: Kit, found: Sequence[Any]) -> tuple[list[KitLine], dict[int, int]]:
    """The kit's own lines in order, and what earlier visits have along."""
    own = [line for line in found if line.kit_id == kit.pk]
    visit = _visit(kit.job.leaves_at, kit.job.code)
    needs: dict[tuple[int, int], int] = defaultdict(int)
    for line in found:
        if line.kit_id != kit.pk and _visit(line.leaves, line.job) < visit:
            needs[line.kit_id, line.item_id] += line.quantity
    earlier: dict[int, int] = {}
    for (_, item), quantity in needs.items():
        earlier[item] = max(earlier.get(item, 0), quantity)
    return sorted(own, key=lambda line: line.order), earlier


@cache
def _question(of_van: bool, of_item: bool, reasons: bool) -> Question[KitLine]:
    """The lines of a kit, and the tools of its van's day where it has one; kept of each sort."""
    return Question(lambda: _lines(of_van, of_item, reasons))


def _lines(of_van: bool, of_item: bool, reasons: bool) -> QuerySet[KitLine]:
    kit = Slot(KitLine, "kit")
    day = KitLine.objects.filter(kit__job__date=Slot(Job, "date"), kit__job__van=Slot(Job, "van"))
    day = day.filter(kit__released_at__isnull=False, kit__closed_by=None)
    day = day.filter(kit__job__cancelled_at=None, item__tracking=Tracking.TOOL).exclude(kit=kit)
    both: list[QuerySet[KitLine]] = []
    for lines in (KitLine.objects.filter(kit=kit), *((day,) if of_van else ())):
        named = lines.select_related("item").order_by()
        named = named.annotate(leaves=F("kit__job__leaves_at"), job=F("kit__job__code"))
        named = named.filter(item=Slot(KitLine, "item")) if of_item else named
        both.append(named if reasons else named.defer("reasons"))
    return both[0].union(*both[1:], all=True)


def _visit(leaves: datetime | None, job: str) -> tuple[bool, str, str]:
    """The order of a van's visits on one day."""
    return leaves is None, leaves.isoformat() if leaves else "", job
