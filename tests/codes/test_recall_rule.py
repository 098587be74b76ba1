"""What can be pasted from a letter, and what is refused with its row."""

from datetime import date

import pytest

from inventory.codes.recall_rule import Row, RuleError, parse


def only(text: str) -> Row:
    """The one row of a rule."""
    (row,) = parse(text).rows
    return row


def test_a_row_is_and_rows_are_or() -> None:
    """Conditions of one row stay together, each row keeps its number in the pasted text."""
    rule = parse(
        "\nModel: M5, Module 5 kWh; prefix AB12 and made 2026-01-05 to 2026-02-10\n\nlot 7"
    )

    first, second = rule.rows
    assert (first.number, first.models, first.prefixes) == (2, ("M5", "Module 5 kWh"), ("AB12",))
    assert (date(2026, 1, 5), date(2026, 2, 10)) == first.made
    assert (second.number, second.lots) == (4, ("7",))


@pytest.mark.parametrize(
    "text",
    [
        "range AB120000-AB129999",  # one dash, both halves alike
        "range AB120000 - AB129999",
        "range AB120000 to AB129999",
        "from AB120000 \u2013 AB129999",  # a word processor's dash
        "Range: AB120000..AB129999",
    ],
)
def test_a_range_is_read_however_it_is_written(text: str) -> None:
    """Both ends, the number between, and what stands around it."""
    (span,) = only(text).spans

    assert (
        span.left,
        span.first,
        span.last,
        span.width,
        span.right,
    ) == ("AB", 120000, 129999, 6, "")


def test_a_range_may_end_alike() -> None:
    """What follows the number in both ends is kept, dashes inside a serial too."""
    (span,) = only("range AB-0099-X to AB-0101-X").spans

    assert (span.left, span.first, span.last, span.width, span.right) == ("AB-", 99, 101, 4, "-X")


@pytest.mark.parametrize(
    "text",
    [
        "AB1201 AB1202\tAB1203",
        "AB1201,AB1202;AB1203",
        "serials: AB1201 | AB1202 | AB1203",
        "AB1201, AB1202, AB1203, AB1201",  # twice on the letter
    ],
)
def test_a_list_is_parted_by_anything(text: str) -> None:
    """Blanks, tabs, commas, semicolons and bars part serials; without a word it is a list."""
    assert only(text).serials == ("AB1201", "AB1202", "AB1203")


def test_a_serial_with_blanks_stands_in_quotes() -> None:
    """Its normal form has none."""
    assert only('"AB 12 0500" AB1201').serials == ("AB120500", "AB1201")


@pytest.mark.parametrize(
    ("said", "first", "last"),
    [
        ("made 2026-01", date(2026, 1, 1), date(2026, 1, 31)),
        ("made 2026-02 to 2026-12", date(2026, 2, 1), date(2026, 12, 31)),
        ("made between 2026-W01 and 2026-W02", date(2025, 12, 29), date(2026, 1, 11)),  # ISO 8601
        ("made until 2026-01-05", date.min, date(2026, 1, 5)),
        ("made from 2026-01-05", date(2026, 1, 5), date.max),
        ("made from 2026-01-05 to 2026-01-07", date(2026, 1, 5), date(2026, 1, 7)),
    ],
)
def test_days_months_and_weeks(said: str, first: date, last: date) -> None:
    """A month or a week of ISO 8601 is all its days; the first week of 2026 began on 29 Dec 2025.

    Source of the week: ISO 8601-1:2019, 3.1.1.23 (the week with the year's first Thursday); worked
    out from memory of the calendar.
    """
    assert (first, last) == only(said).made


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Row 1: expected what the letter names, got nothing."),
        # which is the month?
        ("made 05/01/2026", "Row 1: expected a day as 2026-01-05 (year, month, day)"),
        ("made 2026-02-30", "Row 1: expected a day as 2026-01-05"),
        ("made 2026-02-10 to 2026-01-05", "Row 1: expected the earlier day first"),
        ("\nlot", "Row 2: expected something after 'lot', got nothing."),
        ("lot 1; lot 2", "Row 1: expected 'lot' once in a row, got it twice."),
        ("Dear customer", "Row 1: expected serials of 4 or more characters with a digit, got 'De"),
        ("AB 12 0500", "Row 1: expected serials of 4 or more characters with a digit, got 'AB'"),
        ("1.23E+14", "Row 1: expected a serial, got '1.23E+14', a number that a spreadsheet has"),
        ("AB1200-AB1299", "Row 1: expected a serial or 'range A to B', got 'AB1200-AB1299'"),
        ("range AB1200", "Row 1: expected a range as 'AB1200 to AB1299', got 'AB1200'."),
        ("range AB1200 to AB129", "Row 1: expected two serials of one length"),
        ("range AB1299 to AB1200", "Row 1: expected the lower serial first"),
        ("range AB1200 to CB1200", "Row 1: expected serials alike in all but one number"),
        ("range AB10X1 to AB11X2", "Row 1: expected serials alike in all but one number"),
        ("prefix AB; prefx 12", "Row 1: expected one of prefix, range, serials, lot, model, made"),
        ("AB12\u041200", "Row 1: expected plain letters, digits and dashes"),  # Cyrillic V
    ],
)
def test_what_cannot_be_read_tells_its_row(text: str, said: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(RuleError) as refused:
        parse(text)

    assert refused.value.problems[0].startswith(said), refused.value.problems


def test_every_bad_row_is_told() -> None:
    """The good one between them does not hide them."""
    with pytest.raises(RuleError) as refused:
        parse("lot\nAB1201\nmade soon")

    assert [words.partition(":")[0] for words in refused.value.problems] == ["Row 1", "Row 3"]
