"""Intervals and chances (each row names its published source)."""

import numpy as np
import pytest
from scipy import stats

from kitting.plan.figures.statistics import clopper_pearson, drawn, poisson_limits, wilson
from kitting.plan.inputs import Wrong
from tests.reference.facts import check, each, used
from tests.tree import TOP


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


@pytest.mark.parametrize(
    ("lot", "bad", "sample"),
    [(10, 2, 3), (16, 9, 10), (50, 2, 13), (40_000, 300, 500), (10_000_000, 5, 1250), (7, 7, 3)],
)
def test_the_chances_of_a_draw_are_scipys(lot, bad, sample):
    """Of small and large lots; none where a number cannot be (scipy.stats.hypergeom)."""
    few = np.arange(min(bad, sample) + 2)

    assert drawn(few, lot, bad, sample) == pytest.approx(
        stats.hypergeom.pmf(few, lot, bad, sample), rel=1e-9, abs=1e-300
    )


@pytest.mark.parametrize(("events", "cases"), [(0, 3), (4, 20), (26, 200), (999, 1000), (5, 5)])
def test_limits_are_scipys(events, cases):
    """The same quantiles by scipy.stats.beta and scipy.stats.chi2."""
    low = stats.beta.ppf(0.025, events, cases - events + 1) if events else 0
    high = stats.beta.ppf(0.975, events + 1, cases - events) if events < cases else 1
    mean = stats.chi2.ppf(0.025, 2 * events) / 2 if events else 0

    assert clopper_pearson(events, cases, 0.95) == pytest.approx([low, high], rel=1e-9)
    assert poisson_limits(events, 0.95) == pytest.approx(
        [mean, stats.chi2.ppf(0.975, 2 * events + 2) / 2], rel=1e-9
    )


def test_no_page_waits_for_scipy_stats_to_load():
    """It takes a second in each process that first asks for it: scipy.special has all of it."""
    code = [path for house in ("kitting", "inventory") for path in (TOP / house).rglob("*.py")]

    assert [path.name for path in code if "scipy.stats import" in path.read_text("utf-8")] == []
