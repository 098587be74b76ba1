"""How ready a kit was when: the share of its items that were packed whole, by its own movements."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from django.utils import timezone

from inventory import stepped
from inventory.models import ContainerMove, Movement, PlaceKind
from inventory.models.places import OUTSIDE
from inventory.stepped import Line, Mark, Steps
from kitting.models import Kit
from kitting.progress import fold
from kitting.tallies import Progress

WHOLE = 100  # per cent
GONE_ON = (PlaceKind.SITE, PlaceKind.STACK, PlaceKind.USED, PlaceKind.CUT)
"""Where what left the kit's places was not taken out of the kit."""
Change = tuple[datetime, int, int]  # when, item id, base units that came into the kit


def points(kit: Kit, progress: Progress) -> list[tuple[datetime, int]]:
    """Return (when, per cent of the items that were packed whole) at each change, oldest first."""
    wanted = {
        total.item.pk: total.planned - total.in_boxes - total.on_van
        for total in progress.totals.values()
    }
    wanted = {item: needed for item, needed in wanted.items() if needed > 0}
    if kit.released_at is None or not wanted:
        return []
    there: dict[int, int] = defaultdict(int)
    whole: set[int] = set()
    found = [(kit.released_at, 0)]
    for when, item, quantity in sorted(_changes(kit), key=lambda change: change[0]):
        if item not in wanted:
            continue
        there[item] += quantity
        (whole.add if there[item] >= wanted[item] else whole.discard)(item)
        share = WHOLE * len(whole) // len(wanted)
        if share != found[-1][1]:
            found.append((when, share))
    return found


def _changes(kit: Kit) -> list[Change]:
    """Each time something came into the kit's places, or was taken out of the kit."""
    places = set(kit.packages.values_list("place", flat=True))
    boxed = _boxes(kit, places)
    inside = places | {box for _, _, box in boxed}
    moves = Movement.objects.filter(event__subject=kit.subject).order_by("pk")
    columns = ("event__received_at", "lot__item", "quantity", "from_place", "to_place")
    found = []
    for *row, kind in moves.values_list(*columns, "to_place__kind"):
        when, item, quantity, start, to = row
        if to in inside and start not in inside:
            found.append((when, item, quantity))
        elif start in inside and to not in inside and kind not in GONE_ON:
            found.append((when, item, -quantity))
    items = _items([box for _, _, box in boxed])
    found += [(when, item, sign * n) for when, sign, box in boxed for item, n in items[box]]
    return found


def _boxes(kit: Kit, places: set[int]) -> list[tuple[datetime, int, int]]:
    """(when, 1 in or -1 out, box) of each supplier's box that came into the kit or left it."""
    moves = ContainerMove.objects.filter(
        event__subject=kit.subject, place__kind=PlaceKind.CARTON
    ).order_by("pk")
    columns = ("event__received_at", "place", "from_parent", "to_parent")
    found = []
    for when, box, start, to in moves.values_list(*columns):
        if (to in places) != (start in places):
            found.append((when, 1 if to in places else -1, box))
    return found


def _items(boxes: list[int]) -> dict[int, list[tuple[int, int]]]:
    """Box -> (item id, base units) that were received into it."""
    found: dict[int, list[tuple[int, int]]] = defaultdict(list)
    came = Movement.objects.filter(to_place__in=boxes, from_place__kind__in=OUTSIDE)
    for box, item, quantity in came.values_list("to_place", "lot__item", "quantity"):
        found[box].append((item, quantity))
    return found


def drawing(kit: Kit, now: datetime, progress: Progress | None = None) -> Steps | None:
    """Draw it from the release to the hour the van leaves, or to now; None while nothing changed:
    one point says nothing that the page does not say already."""
    rows = points(kit, progress or fold(kit))
    if len(rows) < 2:
        return None
    leaves = kit.job.leaves_at
    first, last = rows[0][0], max(now, leaves or now, rows[-1][0])
    begin, end = first.timestamp(), last.timestamp()
    until = min(max(now, rows[-1][0]), last)
    drawn = [(when.timestamp(), float(share)) for when, share in rows]
    drawn.append((until.timestamp(), drawn[-1][1]))
    path = stepped.path(drawn, begin, end, WHOLE)
    path = path.rsplit("H", 1)[0] if until < last else path
    days = [Mark(stepped.across(begin, begin, end), _told(first))]
    if leaves is not None and leaves > first:
        days.append(Mark(stepped.across(leaves.timestamp(), begin, end), f"leaves {_told(leaves)}"))
    levels = [Mark(stepped.down(share, WHOLE), f"{share} %") for share in (0, 50, WHOLE)]
    line = Line(path, "was", "items packed whole", stepped.down(drawn[-1][1], WHOLE))
    now_at = stepped.across(now.timestamp(), begin, end) if now < last else None
    return Steps((line,), tuple(days), tuple(levels), now_at)


def _told(moment: datetime) -> str:
    return f"{timezone.localtime(moment):%-d %b %H:%M}"
