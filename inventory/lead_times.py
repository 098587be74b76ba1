"""How long an item takes from order to shelf, by what our own orders of it took.

Nobody enters it: of the last orders of an item the time that three in four kept to counts (common
practice, no source). An order that is not here yet counts with what its supplier promised.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from math import ceil

from inventory import ordering
from inventory.models import OrderLine

LAST = 8  # orders of an item that are looked at
KEPT = 0.75  # share of them that came within the time


def days(items: Iterable[int]) -> dict[int, int]:
    """Return item id -> whole days from entering an order to having it; none ever entered: no key.

    What was closed before it came says nothing.
    """
    lines = OrderLine.objects.filter(item__in=list(items))
    took: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for one in ordering.filled(lines):
        line = one.line
        if one.left and line.closed_at is not None:
            continue
        came = one.last.date() if one.last is not None and not one.left else line.promised_on
        took[line.item_id].append((line.pk, max((came - line.entered_at.date()).days, 0)))
    return {item: _kept(sorted(rows)[-LAST:]) for item, rows in took.items()}


def _kept(rows: list[tuple[int, int]]) -> int:
    """The time within which the share of them came.

    >>> _kept([(1, 3), (2, 9), (3, 4), (4, 5)])
    5
    """
    times = sorted(took for _, took in rows)
    return times[ceil(KEPT * len(times)) - 1]
