"""After a day on which three crews reach for the same things, each law is worked out anew.

Nothing here asks the audit or the book in memory: the tables are read with sums of their own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoDbBlocker

from inventory import audit
from inventory.models import Event, Finding, Holding, Movement, Place, Unit
from inventory.stock_on import stock_on
from kitting.models import AsBuilt, Kit, KitLine
from kitting.progress import fold
from tests.counts import counts
from tests.laws.simulation import world
from tests.laws.simulation.calm import scanned, take
from tests.laws.simulation.network import Phone

pytestmark = pytest.mark.django_db
OUTER = ("supplier", "carrier", "elsewhere", "unexplained", "cut", "scrap", "used up")
ACTS = counts(30, 150)  # of each crew


@dataclass
class Worked:
    """A day that was worked: what people scanned, and the kits' lines as they were before."""

    history: list[tuple[Phone, str]]  # who scanned what
    lines: list[Any]


@pytest.fixture(scope="module")
def worked(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Worked]:
    """The day, worked once for all tests of this file."""
    with django_db_blocker.unblock():
        atomic = transaction.atomic()
        with atomic:
            crews = world.enter()
            lines = list(KitLine.objects.order_by("pk").values())
            history = scanned(crews, ACTS, apart=False)
            take(history)
            yield Worked(history, lines)
            transaction.set_rollback(True)


def outer(place: Place) -> bool:
    return place.kind in OUTER


@pytest.mark.parametrize(
    "change",
    [{"to_place": "from"}, {"quantity": 0}, {"quantity": -1}, {"quantity": 2}],
    ids=["to itself", "of nothing", "backwards", "a unit twice"],
)
def test_no_movement_has_one_leg(worked: Worked, change: dict[str, Any]) -> None:
    """I1: the database itself refuses a movement to where it began, or of no whole thing."""
    row = Movement.objects.filter(unit__isnull=False).latest("pk")
    if change == {"to_place": "from"}:
        change = {"to_place_id": row.from_place_id}
    row.pk = None
    for name, value in change.items():
        setattr(row, name, value)

    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_what_left_one_place_entered_another(worked: Worked) -> None:
    """I2: all that is held of a lot, outside included, sums to zero; so do its movements."""
    held: Counter[int] = Counter()
    for lot, quantity in Holding.objects.values_list("lot", "quantity"):
        held[lot] += quantity

    assert len(held) > 50
    assert set(held.values()) == {0}


def test_nothing_of_ours_is_below_zero(worked: Worked) -> None:
    """I3: by the movements, by the holdings, and the database refuses one unit less."""
    held: Counter[tuple[int, int]] = Counter()
    rows = Movement.objects.values_list("lot", "from_place", "to_place", "quantity")
    for lot, start, to, quantity in rows:
        held[start, lot] -= quantity
        held[to, lot] += quantity
    ours = {place.pk for place in Place.objects.all() if not outer(place)}
    holding = Holding.objects.filter(outside=False, quantity__gt=0).earliest("pk")

    assert min(quantity for (place, _), quantity in held.items() if place in ours) == 0
    with pytest.raises(IntegrityError), transaction.atomic():
        Holding.objects.filter(pk=holding.pk).update(quantity=-1)


def test_each_unit_is_in_one_place(worked: Worked) -> None:
    """I4, I5: where its movements leave it, nowhere else, and its row says the same."""
    balance: defaultdict[int, Counter[int]] = defaultdict(Counter)
    rows = Movement.objects.filter(unit__isnull=False)
    for unit, start, to in rows.values_list("unit", "from_place", "to_place"):
        balance[unit][start] -= 1
        balance[unit][to] += 1
    ours = {place.pk for place in Place.objects.all() if not outer(place)}
    stands = dict(Unit.objects.exclude(place=None).values_list("pk", "place"))

    assert len(balance) > 10
    assert set(balance) == set(stands)
    for unit, places in balance.items():
        inner = [place for place, count in places.items() if place in ours and count]
        assert inner == ([stands[unit]] if stands[unit] in ours else [])
        assert all(places[place] == 1 for place in inner)


def test_each_unit_s_way_is_unbroken(worked: Worked) -> None:
    """I16: each movement begins where the one before ended; the first one outside.

    Where the book had it nowhere the hand won, and a problem or a mark of it was opened.
    """
    way: defaultdict[int, list[tuple[Place, Place]]] = defaultdict(list)
    rows = Movement.objects.filter(unit__isnull=False).order_by("pk")
    for move in rows.select_related("from_place", "to_place"):
        way[move.unit_id or 0].append((move.from_place, move.to_place))
    told = set(Finding.objects.exclude(unit=None).values_list("unit", flat=True))
    stood = [row.unit_id for row in AsBuilt.objects.exclude(unit=None)]

    assert stood
    assert set(stood) <= set(way)
    for unit, moves in way.items():
        assert [start for start, _ in moves[1:]] == [to for _, to in moves[:-1]]
        assert outer(moves[0][0])
        assert moves[0][0].kind == "supplier" or unit in told


def test_a_position_holds_one_unit_and_a_unit_one_position(worked: Worked) -> None:
    """I17: also against a row that somebody writes by hand."""
    standing = AsBuilt.objects.filter(until=None)
    row = standing.latest("pk")
    other = Unit.objects.exclude(pk__in=standing.values("unit")).earliest("pk")
    twice = {"unit": other}, {"level": 9}
    assert row.unit is not None
    assert row.unit.place is not None
    assert row.unit.place.kind == "stack"
    for change in twice:
        copy = AsBuilt.objects.get(pk=row.pk)
        copy.pk = None
        for name, value in change.items():
            setattr(copy, name, value)
        with pytest.raises(IntegrityError), transaction.atomic():
            copy.save(force_insert=True)


def test_a_line_s_state_is_worked_out_never_stored(worked: Worked) -> None:
    """I13: a day of scans writes no line; side tables made anew tell the same of each line."""
    kits = list(Kit.objects.order_by("pk"))

    def told() -> list[tuple[str, str, int, int, int]]:
        rows = [row for kit in kits for row in fold(kit).lines]
        return [(r.line.item.code, r.state, r.picked, r.seen, r.missing) for r in rows]

    before = told()
    audit.rebuild()

    assert {state for _, state, *_ in before} >= {"needed", "picked", "missing"}
    assert told() == before
    assert list(KitLine.objects.order_by("pk").values()) == worked.lines


def test_the_stock_shown_is_what_the_movements_leave(worked: Worked) -> None:
    """I20: place by place and lot by lot, for the day on which all of it came."""
    away = {"site", "stack", *OUTER}
    held: Counter[int] = Counter()
    for move in Movement.objects.select_related("from_place", "to_place", "lot"):
        for place, sign in ((move.from_place, -1), (move.to_place, 1)):
            if not any(around.kind in away for around in place.way_up()):
                held[move.lot_id] += sign * move.quantity
    shown: Counter[int] = Counter()
    for row in stock_on(Event.objects.latest("number").received_at.date()):
        shown[row.lot.pk] += row.quantity

    assert shown == Counter({lot: quantity for lot, quantity in held.items() if quantity})


def test_every_scan_is_there_once(worked: Worked) -> None:
    """I7: byte for byte, none besides, each with its outcome after it."""
    mine = {line for _, line in worked.history}
    stored = [e for e in Event.objects.prefetch_related("outcomes") if e.line in mine]

    assert len(stored) == len(mine) == 3 * ACTS
    assert all(min(o.number for o in e.outcomes.all()) > e.number for e in stored)
