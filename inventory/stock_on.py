"""The stock as it was at the end of a day, rebuilt from the movements alone, with its value."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Max, Min, Sum

from inventory.models import ContainerMove, Event, Item, Lot, Movement, Place, PlaceKind
from inventory.models.places import DEPTH, OUTSIDE

AWAY = frozenset({PlaceKind.SITE, PlaceKind.STACK, *OUTSIDE})


@dataclass(frozen=True, slots=True)
class Row:
    """So much of a lot lay at a place."""

    where: tuple[str, ...]  # names, outermost first: depot, bin, box
    item: Item
    lot: Lot
    quantity: int  # base units

    @property
    def value(self) -> int:
        """What it is worth in cents by the item's cost of today, rounded half up; 0 if unknown."""
        worth = self.item.cost * self.quantity
        return (2 * worth + self.item.cost_for) // (2 * self.item.cost_for)

    @property
    def shelf(self) -> str:
        """The place people walk to, with what it stands in; what it lies in there left out."""
        return ", ".join(self.where[:2])


def home_zone() -> ZoneInfo:
    """Return the time zone of our first depot."""
    depots = Place.objects.filter(kind=PlaceKind.DEPOT).exclude(time_zone="").order_by("pk")
    return ZoneInfo(depots.values_list("time_zone", flat=True).first() or "UTC")


def end_of(day: date) -> datetime:
    """Return the first moment after a day where our depot is."""
    return datetime.combine(day + timedelta(days=1), time(), home_zone())


def stock_on(day: date) -> list[Row]:
    """Return what lay at places of ours at the end of a day, by place and item.

    What was decided later counts later, whenever it was scanned: the ledger's order rules.
    """
    before = Event.objects.filter(received_at__gte=end_of(day)).aggregate(n=Min("number"))["n"]
    moves = Movement.objects.all()
    carries = ContainerMove.objects.all()
    if before is not None:
        # Of those that came in time only what waited was decided after that moment.
        woken = Event.objects.filter(number__lt=before, outcomes__number__gte=before)
        moves = moves.filter(event__number__lt=before).exclude(event__in=woken)
        carries = carries.filter(event__number__lt=before).exclude(event__in=woken)
    sums: dict[tuple[int, int], int] = defaultdict(int)
    for place, lot, quantity in moves.values_list("to_place", "lot").annotate(Sum("quantity")):
        sums[place, lot] += quantity
    for place, lot, quantity in moves.values_list("from_place", "lot").annotate(Sum("quantity")):
        sums[place, lot] -= quantity
    held = {at: quantity for at, quantity in sums.items() if quantity}
    places = Place.objects.in_bulk()
    parents = _parents(
        places, set(carries.values("place").annotate(last=Max("pk")).values_list("last", flat=True))
    )
    lots = Lot.objects.filter(pk__in={lot for _, lot in held}).select_related("item").in_bulk()
    rows = []
    for (place, lot), quantity in held.items():
        up = _way_up(places, parents, place)
        if any(one.kind in AWAY for one in up):
            continue
        where = tuple(one.name for one in reversed(up))
        rows.append(Row(where, lots[lot].item, lots[lot], quantity))
    return sorted(rows, key=lambda row: (row.where, row.item.code, row.lot.key))


def _parents(places: dict[int, Place], last: set[int]) -> dict[int, int | None]:
    """Return place id -> what it stood in: by its last move till then, else before its first."""
    now = {pk: place.parent_id for pk, place in places.items()}
    firsts = ContainerMove.objects.values("place").annotate(first=Min("pk")).values("first")
    began = ContainerMove.objects.filter(pk__in=firsts).values_list("place", "from_parent")
    moved = ContainerMove.objects.filter(pk__in=last)
    return now | dict(began) | dict(moved.values_list("place", "to_parent"))


def _way_up(places: dict[int, Place], parents: dict[int, int | None], place: int) -> list[Place]:
    found: list[Place] = []
    here: int | None = place
    while here is not None and len(found) <= DEPTH:
        found.append(places[here])
        here = parents[here]
    return found


def totals(rows: list[Row]) -> list[tuple[str, int, int]]:
    """Return (place, lines, value in cents) of each place people walk to."""
    found: dict[str, list[int]] = {}
    for row in rows:
        entry = found.setdefault(row.shelf, [0, 0])
        entry[0] += 1
        entry[1] += row.value
    return [(place, lines, value) for place, (lines, value) in sorted(found.items())]
