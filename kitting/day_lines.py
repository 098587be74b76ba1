"""A kit's lines beside the tools of the same van's earlier visits: one tool serves them all."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from django.db.models import F

from inventory.models import Item, Tracking
from kitting.models import Kit, KitLine


def with_tools_of_before(kit: Kit, only: Item | None) -> tuple[list[KitLine], dict[int, int]]:
    """Return the lines in order; item id -> tools that the same van takes along for visits before
    this one that day: one tool serves them all. One statement."""
    mine = KitLine.objects.filter(kit=kit)
    day = KitLine.objects.filter(kit__job__date=kit.job.date, kit__job__van=kit.job.van_id)
    day = day.filter(kit__released_at__isnull=False, kit__closed_by=None)
    day = day.filter(kit__job__cancelled_at=None, item__tracking=Tracking.TOOL).exclude(kit=kit)
    both = []
    for lines in (mine, day) if kit.job.van_id is not None else (mine,):
        named = lines.select_related("item").order_by()
        named = named.annotate(leaves=F("kit__job__leaves_at"), job=F("kit__job__code"))
        if only is not None:
            named = named.filter(item=only)
            named = named if only.unit == "mm" else named.defer("reasons")
        both.append(named)
    found = list(both[0].union(*both[1:], all=True))
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


def _visit(leaves: datetime | None, job: str) -> tuple[bool, str, str]:
    """The order of a van's visits on one day."""
    return leaves is None, leaves.isoformat() if leaves else "", job
