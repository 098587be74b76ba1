"""Intervals and chances (each row names its published source)."""

import pytest

from kitting.plan.figures.statistics import clopper_pearson, wilson
from kitting.plan.inputs import Wrong
from tests.reference.facts import check, each, used


@each(used("statistics"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


def test_all_and_none_have_limits():
    """0 of n ends at 0, n of n at 1; each interval mirrors the other."""
    for interval in (clopper_pearson, wilson):
        low, high = interval(0, 12, 0.95)
        assert low == 0
        assert interval(12, 12, 0.95) == pytest.approx([1 - high, 1], abs=1e-9)


def test_more_events_than_cases_are_refused():
    """The interval of 3 in 2 is no interval."""
    with pytest.raises(Wrong, match="expected at most n = 2, got 3"):
        wilson(3, 2, 0.95)
