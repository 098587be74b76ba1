"""Dates inside codes."""

import pytest

from inventory.codes import dates
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("short", "year", "expected"),
    [
        (75, 2026, 2075),
        (76, 2026, 2076),  # exactly 50 years ahead
        (77, 2026, 1977),
        (26, 2026, 2026),
        (0, 2026, 2000),
        (50, 2099, 2050),  # exactly 49 years back
        (49, 2099, 2149),
        (51, 2000, 1951),
    ],
)
def test_century(short, year, expected):
    """A two-digit year lies within 49 years back and 50 ahead."""
    assert expected == dates.full_year(short, year)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("260228", "2026-02-28"),
        ("240229", "2024-02-29"),
        ("240200", "2024-02-29"),  # last day in a leap year
        ("260400", "2026-04-30"),
    ],
)
def test_six_digits(text, expected):
    """Day 00 is the last day of the month."""
    assert expected == dates.six_digits(text, 2026, day_zero=True)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("261301", "bad_month"),
        ("260001", "bad_month"),
        ("260229", "bad_day"),
        ("260132", "bad_day"),
    ],
)
def test_dates_that_do_not_exist(text, kind):
    """Months and days are real ones."""
    with pytest.raises(CodeError) as refusal:
        dates.six_digits(text, 2026, day_zero=True)

    assert kind == refusal.value.kind


def test_day_zero_only_where_allowed():
    """Without leave day 00 is no day."""
    with pytest.raises(CodeError, match="expected a day from 01 to 28, got 260200"):
        dates.six_digits("260200", 2026)


def test_weeks_and_times():
    """2026 has 53 ISO weeks, 2025 has 52; hours end at 23."""
    assert dates.week(2026, 53) == "2026-W53"
    assert dates.time("1205") == "12:05:00"
    with pytest.raises(CodeError, match="from 1 to 52, got 53"):
        dates.week(2025, 53)
    with pytest.raises(CodeError, match="expected a time"):
        dates.time("2400")


def test_year_zero_is_refused():
    """Eight digits of zeros are no date and no crash."""
    with pytest.raises(CodeError):
        dates.eight_digits("00000101")
    with pytest.raises(CodeError):
        dates.week(0, 54)
