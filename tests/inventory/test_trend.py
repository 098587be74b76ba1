"""How much lay here day by day is rebuilt from the movements, and drawn with what is promised."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from inventory import intake, ordering, trend
from inventory.models import Partner
from tests.firm import NOW, Firm, Phone

TODAY = date(2026, 11, 25)


def on(firm: Firm, days: int, step: str, quantity: int, **more: str) -> None:
    """One event of so many days ago."""
    phone: Phone = firm.wanda
    line = phone.line(step, "BRA", quantity=quantity, **more)
    [done] = intake.take(phone.person, [line], NOW - timedelta(days))
    assert done.verdict == "applied", done.sentence


def test_levels_follow_from_the_movements(shop: Firm) -> None:
    """What came and what left, at the end of each day; moving it inside changes nothing."""
    on(shop, 70, "receive", 5, target="BIN1")  # before the drawing begins
    on(shop, 20, "receive", 10, target="BIN1")
    on(shop, 9, "put", 4, target="VAN1", start="BIN1")
    on(shop, 3, "receive", 1, target="BIN2")

    first = TODAY - timedelta(trend.BACK)
    expected = [(first, 5), (TODAY - timedelta(20), 15)]
    found = [row for row in trend.levels(shop.bracket, TODAY) if row[0] != TODAY - timedelta(9)]
    assert found == [*expected, (TODAY - timedelta(3), 16)]


def test_the_drawing_ends_with_what_is_promised(shop: Firm) -> None:
    """A full line to today, a dashed one beyond; what is promised later stays out."""
    on(shop, 20, "receive", 10, target="BIN1")
    north = Partner.objects.create(code="north", name="North", kind="supplier")
    for days, quantity in ((5, 30), (40, 500)):
        ordering.enter(
            shop.mona.person,
            datetime(2026, 11, 24, tzinfo=UTC),
            supplier=north,
            item=shop.bracket,
            quantity=quantity,
            promised_on=TODAY + timedelta(days),
        )
    drawn = trend.drawing(shop.bracket, TODAY)

    assert [(line.kind, line.path.count("V")) for line in drawn.lines] == [
        ("was", 2),
        ("promised", 2),
    ]
    assert [mark.words for mark in drawn.levels] == ["0", "25", "50"]
    assert drawn.lines[0].end > drawn.lines[1].end
