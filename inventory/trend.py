"""How much of an item lay with us day by day, and what is promised; by the movements alone."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import Sum
from django.db.models.functions import TruncDate

from inventory import ordering, stepped
from inventory.models import Item, Movement
from inventory.overviews import here
from inventory.stepped import Line, Mark, Steps
from inventory.stock_on import AWAY, end_of, home_zone
from inventory.words import measure

BACK, AHEAD = 60, 14  # days


def changes(item: Item, since: date) -> dict[date, int]:
    """Return day -> base units that came to us less those that left, from a day on."""
    begun = end_of(since - timedelta(days=1))
    moved = Movement.objects.filter(lot__item=item, event__received_at__gte=begun)
    moved = moved.annotate(day=TruncDate("event__received_at", tzinfo=home_zone()))
    found: dict[date, int] = {}
    for sign, path in ((1, "to_place__kind"), (-1, "from_place__kind")):
        rows = moved.exclude(**{f"{path}__in": AWAY}).order_by().values_list("day")
        for day, quantity in rows.annotate(n=Sum("quantity")):
            found[day] = found.get(day, 0) + sign * quantity
    return found


def levels(item: Item, today: date) -> list[tuple[date, int]]:
    """Return (day, base units at its end) of each day on which that changed, oldest first."""
    first = today - timedelta(days=BACK)
    by_day = changes(item, first + timedelta(days=1))
    level = here().get(item.pk, (0, 0))[0]
    found = []
    for day in sorted(by_day, reverse=True):
        found.append((day, level))
        level -= by_day[day]
    return [(first, level), *reversed(found)]


def drawing(item: Item, today: date) -> Steps:
    """Draw the last weeks and, as promised by suppliers, the next two."""
    was = levels(item, today)
    level = was[-1][1]
    ahead = [(today, level)]
    last = today + timedelta(days=AHEAD)
    for one in ordering.awaited(item.order_lines.all()):
        day = max(one.line.promised_on, today)
        if day <= last:
            level += one.left
            ahead.append((day, level))
    first = was[0][0]
    most = stepped.round_up(max(value for _, value in [*was, *ahead]))
    begin, end = first.toordinal(), last.toordinal()

    def line(rows: list[tuple[date, int]], until: date, kind: str, words: str) -> Line:
        points = [(float(day.toordinal()), float(value)) for day, value in rows]
        points.append((float(until.toordinal()), points[-1][1]))
        drawn = stepped.path(points, begin, end, most)
        cut = drawn.rsplit("H", 1)[0] if until < last else drawn
        return Line(cut, kind, words, stepped.down(points[-1][1], most))

    lines = [line(was, today, "was", "what lay here")]
    if len(ahead) > 1:
        lines.append(line(ahead, last, "promised", "with what is promised"))
    days = [first + timedelta(days=n) for n in range(0, BACK + AHEAD + 1, 14)]
    marks = [Mark(stepped.across(day.toordinal(), begin, end), f"{day:%-d %b}") for day in days]
    rungs = [0, most / 2, most] if most > 1 else [0, most]
    told = [Mark(stepped.down(n, most), measure(int(n), item.unit)) for n in rungs if n == int(n)]
    return Steps(
        tuple(lines), tuple(marks), tuple(told), stepped.across(today.toordinal(), begin, end)
    )
