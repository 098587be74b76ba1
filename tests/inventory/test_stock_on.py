"""The stock at the end of a day against what the book had at that moment."""

import io
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest
from openpyxl import load_workbook

from inventory import catalogue, intake
from inventory.models import Holding, Item
from inventory.stock_on import Row, stock_on, totals
from inventory.views.orders import _file
from inventory.workbooks import Sheet, workbook
from tests.firm import NOW, Firm, element_string

BRACKETS = "09521234000020"
# reference/reliability.md, fixture row 14: what a spreadsheet might carry out, and honest texts.
PAYLOADS = [
    "=1+1", "+", "-1+2", "@", "\t=", "\r=", "\n=", " =", "\uff1d", "\u200b=", "\ufeff=", "|calc",
    '=HYPERLINK("http://x.invalid")', "'=", ";=", "-5", "+49 170 1234567",
]  # fmt: skip


def told(rows: list[Row]) -> dict[tuple[str, str], int]:
    return {(row.where[-1], row.item.code): row.quantity for row in rows}


def test_each_day_is_what_the_book_had_then(shop: Firm) -> None:
    """Boxes moved, things picked and undone later: a day that is over does not change."""
    days, books = [], []
    steps = [
        shop.wanda.line("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")}),
        shop.wanda.line("receive", BRACKETS, target="BIN1", quantity=9),
        shop.wanda.line("put", BRACKETS, start="BIN1", target="VAN1", quantity=4),
        shop.wanda.line("put", "BOX-1", target="BIN2"),
        shop.wanda.line("count", BRACKETS, target="BIN1", quantity=3),
    ]
    first = intake.take(shop.wanda.person, steps[:1], NOW)[0]
    for number, line in enumerate(steps[1:], 1):
        held = Holding.objects.filter(outside=False, quantity__gt=0)
        books.append({(h.place.name, h.lot.item.code): h.quantity for h in held})
        days.append(NOW.date() + timedelta(days=number - 1))
        intake.take(shop.wanda.person, [line], NOW + timedelta(days=number))
    late = NOW + timedelta(days=9)
    undo = shop.wanda.line("undo", reverses=str(first.id))
    intake.take(shop.wanda.person, [undo], late)

    assert [told(stock_on(day)) for day in days] == books
    assert stock_on(NOW.date() - timedelta(days=1)) == []
    assert [row.where for row in stock_on(days[0])] == [("Depot", "Dock", "Box of Module")]


def test_a_day_ends_where_the_depot_is(shop: Firm) -> None:
    """6:30 UTC on the 25th is 19:30 on the 25th in Auckland, 20:30 on the 24th in Honolulu."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=9)
    depot, found = shop.dock.parent, {}
    for zone in ("Pacific/Auckland", "Pacific/Honolulu"):
        depot.time_zone = zone
        depot.save()
        found[zone] = [bool(stock_on(date(2026, 11, day))) for day in (24, 25)]

    assert found == {"Pacific/Auckland": [False, True], "Pacific/Honolulu": [True, True]}


@pytest.mark.parametrize("quantity", [1, 3, 7, 149, 150, 250, 100_000])
def test_value_is_rounded_half_up(quantity: int) -> None:
    """As decimal's own rounding has it: 12.35 for 100 base units."""
    item = Item(code="X", cost=1235, cost_for=100)
    exact = Decimal(1235 * quantity) / 100

    value = Row(("Depot",), item, None, quantity).value  # type: ignore[arg-type]
    assert value == int(exact.quantize(Decimal(1), ROUND_HALF_UP))


def test_the_file_holds_quantities_values_and_no_formula(shop: Firm) -> None:
    """Numbers are numbers; a name that looks like a formula is a text, whole."""
    catalogue.change_item(
        shop.bracket, name='=HYPERLINK("http://x.invalid")', mass_g=1, cost=250, cost_for=2
    )
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=9)
    rows = stock_on(NOW.date())
    book = load_workbook(io.BytesIO(_file(rows, NOW.date())))

    line = [cell.value for cell in book["Stock"][2]]
    assert line == [
        "Depot, Bin 1", None, "BRA", '=HYPERLINK("http://x.invalid")', None, None, 9, "piece", 11.25
    ]  # fmt: skip
    assert book["Stock"]["D2"].data_type == "s"
    assert totals(rows) == [("Depot, Bin 1", 1, 1125)]
    assert [cell.value for cell in book["By place"][2]] == ["Depot, Bin 1", 1, 11.25]


def test_no_text_becomes_a_formula() -> None:
    """Every known payload and honest numbers in words come back as texts; numbers as numbers."""
    cells = [(text, 7) for text in PAYLOADS]
    book = load_workbook(io.BytesIO(workbook([Sheet("S", [("Text", "Number"), *cells])])))
    rows = list(book["S"].iter_rows(min_row=2))

    assert {row[0].data_type for row in rows if row[0].value} == {"s"}
    assert [row[1].value for row in rows] == [7] * len(PAYLOADS)
    kept = [text.translate(dict.fromkeys(map(ord, "\t\r\n"), " ")) for text in PAYLOADS]
    assert [row[0].value for row in rows] == kept
