"""On order: entered by hand, made smaller by what deliveries of that supplier bring since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from inventory.lock import writing
from inventory.models import (
    Delivery,
    Item,
    Movement,
    OrderLine,
    Partner,
    Person,
    PlaceKind,
)
from inventory.words import amount


@dataclass(frozen=True, slots=True)
class Awaited:
    """An order line and how much of it is still to come."""

    line: OrderLine
    left: int  # base units, 1 up

    def late(self, day: date) -> bool:
        """Whether it should have come before this day."""
        return self.line.promised_on < day


def enter(
    by: Person,
    at: datetime,
    *,
    supplier: Partner,
    item: Item,
    quantity: int,
    promised_on: date,
    number: str = "",
) -> OrderLine:
    """Enter what was ordered."""
    with writing():
        return OrderLine.objects.create(
            supplier=supplier,
            item=item,
            quantity=quantity,
            promised_on=promised_on,
            number=number,
            entered_by=by,
            entered_at=at,
        )


def enter_all(
    by: Person, at: datetime, ordered: Iterable[tuple[Item, int]], **order: Any
) -> list[OrderLine]:
    """Enter one order of several items, each with how many; all or none."""
    with writing():
        return [enter(by, at, item=item, quantity=of_it, **order) for item, of_it in ordered]


def told(lines: Sequence[OrderLine]) -> str:
    """Say what was entered of one order: "2 x bracket; 4.2 m of cable: from North for 1 Dec"."""
    what = "; ".join(amount(line.quantity, line.item) for line in lines)
    return f"{what}: from {lines[0].supplier} for {lines[0].promised_on:%-d %b %Y}."


def close(line: OrderLine, at: datetime, by: Person) -> None:
    """Say that the rest of a line will not come; a line that is closed stays as it is."""
    with writing():
        open_ones = OrderLine.objects.filter(pk=line.pk, closed_at=None)
        open_ones.update(closed_at=at, closed_by=by)


def awaited(lines: QuerySet[OrderLine] | None = None) -> list[Awaited]:
    """Return what is still to come, the earliest promise first.

    What deliveries of the supplier brought of the item since a line was entered fills that line;
    what fills one line does not fill the next.
    """
    rows = lines if lines is not None else OrderLine.objects.all()
    return [
        Awaited(one.line, one.left)
        for one in filled(rows)
        if one.left and one.line.closed_at is None
    ]


@dataclass(frozen=True, slots=True)
class Filled:
    """An order line, what of it never came or is still to come, and when the last of it came."""

    line: OrderLine
    left: int  # base units
    last: datetime | None  # None: nothing of it came


def filled(lines: QuerySet[OrderLine]) -> list[Filled]:
    """Return what came of each line, the earliest promise first."""
    rows = list(lines.select_related("supplier", "item", "entered_by"))
    came = _arrivals(rows)
    found = []
    for line in sorted(rows, key=lambda one: (one.promised_on, one.pk)):
        left, last = line.quantity, None
        for arrival in came[line.supplier_id, line.item_id]:
            open_then = line.closed_at is None or arrival[0] <= line.closed_at
            if left and open_then and arrival[0] >= line.entered_at and arrival[1]:
                part = min(arrival[1], left)
                arrival[1] -= part
                left -= part
                last = arrival[0]
        found.append(Filled(line, left, last))
    return found


def _arrivals(lines: Iterable[OrderLine]) -> dict[tuple[int, int], list[list]]:  # type: ignore[type-arg]
    """Return (supplier, item) -> [when, base units] of each thing its deliveries brought."""
    chosen = list(lines)
    by_subject = {
        f"delivery:{code}": supplier
        for code, supplier in Delivery.objects.filter(
            supplier__in={line.supplier_id for line in chosen}
        ).values_list("code", "supplier_id")
    }
    moves = Movement.objects.filter(
        event__subject__in=list(by_subject),
        event__reversed_by=None,
        lot__item__in={line.item_id for line in chosen},
    ).order_by("pk")
    came = moves.filter(from_place__kind=PlaceKind.SUPPLIER)
    refused = moves.filter(event__step="refuse_box", to_place__kind=PlaceKind.CARRIER)
    gone: dict[tuple[str, int], int] = defaultdict(int)
    for subject, item, quantity in refused.values_list("event__subject", "lot__item", "quantity"):
        gone[subject, item] += quantity
    found: dict[tuple[int, int], list[list]] = defaultdict(list)  # type: ignore[type-arg]
    columns = ("event__subject", "lot__item", "event__received_at", "quantity")
    for subject, item, at, quantity in came.values_list(*columns):
        # What was scanned in and then went back with the driver did not come.
        back = min(gone[subject, item], quantity)
        gone[subject, item] -= back
        found[by_subject[subject], item].append([at, quantity - back])
    return found
