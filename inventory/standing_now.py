"""Where the things of a batch, a box, a delivery or a job are now: a row each, in one question."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet, Sum

from inventory.models import Holding, Lot, Movement, Place, PlaceKind, Unit
from inventory.models.places import DEPTH

MOST = 1000  # rows of one kind that are told


@dataclass(frozen=True, slots=True)
class Stood:
    """So much of one thing, and where it is now."""

    thing: str
    code: str  # what to scan or type for its own chain; empty: there is none
    quantity: int  # base units
    unit: str  # what a quantity counts
    places: tuple[str, ...]  # innermost first; empty: nowhere
    site: str  # code of the site it is at, empty for none


def most_of(told: Sequence[Stood]) -> int:
    """Return how many of one kind are told at most where that may have left some out, else 0."""
    return MOST if len(told) >= MOST else 0


def of_units(units: QuerySet[Unit]) -> tuple[Stood, ...]:
    """Return where single things are, in the order of their serials."""
    rows = units.order_by("item__code", "serial_key").values(
        "serial", "item__name", *_way("place__")
    )
    return tuple(
        Stood(f"{row['item__name']} {row['serial']}", row["serial"], 1, "piece", *_where(row))
        for row in rows[:MOST]
    )


def of_lot(lot: Lot) -> tuple[Stood, ...]:
    """Return where all of a batch is: its single things, what lies by number, what was used up.

    What was used up is told by the place that it left for good.
    """
    single = of_units(Unit.objects.filter(lot=lot))
    held = Holding.objects.filter(lot=lot).exclude(quantity=0)
    used = Movement.objects.filter(lot=lot, to_place__kind=PlaceKind.USED, unit=None)
    back = Movement.objects.filter(lot=lot, from_place__kind=PlaceKind.USED, unit=None)
    lying = [] if single else [*_lying(held), *_gone(used, back, lot)]
    return (*single, *lying)


def of_place(place: Place) -> tuple[Stood, ...]:
    """Return what lies in a box, parcel or bag."""
    held = Holding.objects.filter(place=place, quantity__gt=0)
    by_number = held.exclude(lot__item__tracking="serial")
    return (*of_units(Unit.objects.filter(place=place)), *_lying(by_number))


def _lying(held: QuerySet[Holding]) -> Iterator[Stood]:
    """What lies by number; not what was used up or has no explanation."""
    told = held.exclude(place__kind__in=(PlaceKind.USED, PlaceKind.UNEXPLAINED, PlaceKind.SUPPLIER))
    names = ("quantity", "lot__item__name", "lot__item__unit", "lot__number")
    for row in told.order_by("lot__item__code", "lot__key", "pk").values(*names, *_way("place__"))[
        :MOST
    ]:
        batch = f", batch {row['lot__number']}" if row["lot__number"] else ""
        thing, unit = f"{row['lot__item__name']}{batch}", row["lot__item__unit"]
        yield Stood(thing, row["lot__number"], row["quantity"], unit, *_where(row))


def _gone(used: QuerySet[Movement], back: QuerySet[Movement], lot: Lot) -> Iterator[Stood]:
    """What of a batch was used up, by where."""
    left: dict[int, int] = defaultdict(int)
    for place, total in used.values_list("from_place").annotate(Sum("quantity")):
        left[place] += total
    for place, total in back.values_list("to_place").annotate(Sum("quantity")):
        left[place] -= total
    for row in Place.objects.filter(pk__in=left).order_by("code").values("pk", *_way("")):
        if left[row["pk"]] > 0:
            places, site = _where(row, "")
            used_at = ("used up", *places)
            yield Stood(str(lot), lot.number, left[row["pk"]], lot.item.unit, used_at, site)


def _way(path: str) -> list[str]:
    """Names of the columns that tell a place and all that it stands in."""
    steps = [path + "parent__" * up for up in range(DEPTH)]
    return [step + column for step in steps for column in ("name", "kind", "code")]


def _where(row: dict[str, Any], path: str = "place__") -> tuple[tuple[str, ...], str]:
    steps = [path + "parent__" * up for up in range(DEPTH)]
    there = [step for step in steps if row[f"{step}name"]]
    sites = [row[f"{step}code"] for step in there if row[f"{step}kind"] == PlaceKind.SITE]
    return tuple(row[f"{step}name"] for step in there), sites[0] if sites else ""
