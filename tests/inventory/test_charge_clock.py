"""Days on the shelf, worked by hand on the calendar; the intervals are invented."""

from datetime import date

import pytest

from inventory.charge_clock import Band, Stay, due_on, interval

BANDS = [Band(25, 300), Band(35, 150), Band(45, 100)]
BEGUN = date(2026, 1, 1)


@pytest.mark.parametrize(
    ("stays", "due"),
    [
        # 300 days after 1 January 2026 is its 301st day: 28 October.
        ([Stay(BEGUN, 20)], date(2026, 10, 28)),
        ([Stay(BEGUN, 25)], date(2026, 10, 28)),
        ([Stay(BEGUN, 26)], date(2026, 5, 31)),  # day 151
        ([Stay(BEGUN, None)], date(2026, 4, 11)),  # the shortest of all, 100 days: day 101
        # 60 of 150 warm days use two fifths; three fifths of 300 cool days are 180 more: day 241.
        ([Stay(BEGUN, 35), Stay(date(2026, 3, 2), 20)], date(2026, 8, 29)),
        # What lay there before its charge counts nothing.
        ([Stay(date(2025, 6, 1), 45), Stay(date(2025, 12, 1), 20)], date(2026, 10, 28)),
        # Warmer than every rule: due on the day it came there.
        ([Stay(BEGUN, 20), Stay(date(2026, 2, 1), 50)], date(2026, 2, 1)),
        # Used up before it was moved on.
        ([Stay(BEGUN, 45), Stay(date(2026, 9, 1), 20)], date(2026, 4, 11)),
    ],
)
def test_a_charge_is_used_day_by_day(stays: list[Stay], due: date) -> None:
    """Each day takes its share of the interval that holds where it lay."""
    assert due_on(BEGUN, stays, BANDS) == due


def test_a_gap_before_the_first_stay_is_refused() -> None:
    """Days that nobody accounts for would count nothing."""
    for stays in ([], [Stay(date(2026, 2, 1), 20)]):
        with pytest.raises(ValueError, match="on the day of the charge or before"):
            due_on(BEGUN, stays, BANDS)


def test_no_rule_is_stretched() -> None:
    """Above the warmest band there is no interval; an unknown warmth has the shortest."""
    assert [interval(BANDS, c) for c in (-10, 25, 26, 45, 46, None)] == [300, 300, 150, 100, 0, 100]
