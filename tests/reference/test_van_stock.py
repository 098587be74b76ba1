"""Levels of a van against scipy's own distributions and published examples of stock control.

Sources: scipy.stats.poisson and nbinom (SciPy 1.17, general-purpose library, not used by the
product for them); the docstrings of stockpyl 1.0.2, whose numbers are those of Snyder and Shen,
Fundamentals of Supply Chain Theory (base stock and expected shortage of a Poisson demand). The
table of levels is own calculation with SciPy, not published.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from kitting.plan import van_stock
from kitting.plan.van_stock import Demand
from tests.reference.instances import worked

RATIOS = (1, 2, 3, 10)  # variance to mean


def demand(mean: float, ratio: float = 1, cost: int = 1) -> Demand:
    return Demand("part", mean, mean * ratio, cost)


def scipy_of(mean: float, ratio: float):
    """The same distribution by scipy: r and p from mean and variance."""
    if ratio == 1:
        return stats.poisson(mean)
    return stats.nbinom(mean / (ratio - 1), 1 / ratio)


@pytest.mark.parametrize("mean", [0.02, 0.5, 5, 20, 1200])
@pytest.mark.parametrize("ratio", RATIOS)
def test_the_chance_that_a_level_lasts_is_the_distribution_s(mean, ratio):
    """Poisson where the variance is the mean, else negative binomial, to nine digits."""
    ours = van_stock.enough(demand(mean, ratio))

    assert ours == pytest.approx(scipy_of(mean, ratio).cdf(range(len(ours))), abs=1e-9)
    assert ours[-1] == pytest.approx(1, abs=2e-9)


@pytest.mark.parametrize(
    ("mean", "ratio", "wanted"),
    [
        (5, 1, (8, 9, 11)),
        (5, 2, (9, 11, 14)),
        (5, 3, (10, 12, 17)),
        (0.5, 1, (1, 2, 3)),
        (0.5, 2, (2, 2, 5)),
        (0.5, 3, (2, 3, 6)),
        (20, 1, (26, 28, 31)),
        (20, 2, (28, 31, 37)),
        (20, 3, (30, 34, 42)),
    ],
)
def test_levels_for_90_95_and_99_percent(mean, ratio, wanted):
    """Smallest levels; own calculation with SciPy."""
    found = [van_stock.base_stock(demand(mean, ratio), chance) for chance in (0.9, 0.95, 0.99)]

    assert tuple(found) == wanted


def cost_of(one: Demand, level: int, h: float, p: float) -> float:
    """What a level costs: h for each piece left over, p for each that lacks, on average."""
    lacking = van_stock.shortage(one, level)
    return h * (level - one.mean + lacking) + p * lacking


def test_published_base_stock_and_what_it_costs():
    """Snyder and Shen, Poisson demand of mean 50 (data/worked.json, st-4): level and cost."""
    given, told = worked()["st-4"]["inputs"], worked()["st-4"]["published"]
    one, h, p = demand(given["mean"]), given["h"], given["p"]
    level = van_stock.base_stock(one, p / (h + p))

    assert level == told["S"]
    assert cost_of(one, level, h, p) == pytest.approx(told["cost"], abs=1e-6)


def test_published_base_stock_of_a_demand_that_varies_more():
    """Snyder and Shen, Example 4.3, normal demand of mean 50 and deviation 8 (data/worked.json,
    st-2): the smallest whole number of pieces that is enough by it; no other level is cheaper, and
    whole pieces and the longer tail of a count cost less than 3 in 100 more."""
    given, told = worked()["st-2"]["inputs"], worked()["st-2"]["published"]
    one = Demand("part", given["mean"], given["sd"] ** 2, 1)
    h, p = given["h"], given["p"]
    level = van_stock.base_stock(one, p / (h + p))
    costs = {at: cost_of(one, at, h, p) for at in range(40, 80)}

    assert level == math.ceil(told["S"])
    assert min(costs, key=costs.__getitem__) == level
    assert told["cost"] <= costs[level] <= 1.03 * told["cost"]


def test_published_shortage_and_what_is_left_over():
    """Snyder and Shen, Poisson demand of mean 15 and 18 there (data/worked.json, st-6)."""
    given, told = worked()["st-6"]["inputs"], worked()["st-6"]["published"]
    lacking = van_stock.shortage(demand(given["mean"]), given["x"])

    assert lacking == pytest.approx(told["shortage"], abs=1e-7)
    assert given["x"] - given["mean"] + lacking == pytest.approx(told["overage"], abs=1e-7)


@pytest.mark.parametrize(("ratio", "wanted"), [(1, 0.989), (2, 0.979), (3, 0.965)])
def test_the_part_that_is_served_at_95_percent(ratio, wanted):
    """Mean 5: own calculation with SciPy."""
    five = demand(5, ratio)

    assert van_stock.served(five, van_stock.base_stock(five, 0.95)) == pytest.approx(
        wanted, abs=6e-4
    )


def test_the_chance_of_a_whole_day_is_what_many_drawn_days_show():
    """200,000 days drawn by numpy, three items: the part of them on which nothing lacked."""
    some = [(0.5, 1, 2), (5, 2, 11), (2, 3, 6)]
    days = np.random.default_rng(7)
    lasts = np.ones(200_000, dtype=bool)
    for mean, ratio, level in some:
        drawn = scipy_of(mean, ratio).rvs(len(lasts), random_state=days)
        lasts &= drawn <= level
    ours = van_stock.chance([demand(m, r) for m, r, _ in some], [level for *_, level in some])

    assert ours == pytest.approx(lasts.mean(), abs=0.003)  # four standard errors


@pytest.mark.parametrize("target", [0.8, 0.9, 0.95, 0.99])
def test_no_other_levels_are_cheaper(target):
    """Every combination of three items tried out."""
    some = [demand(0.5, 1, 100), demand(2, 2, 7), demand(1, 3, 31)]
    ours = van_stock.levels(some, target)
    tables = [scipy_of(one.mean, one.variance / one.mean).cdf(range(26)) for one in some]
    costs = [
        sum(one.cost * level for one, level in zip(some, tried, strict=True))
        for tried in itertools.product(range(26), repeat=3)
        if tables[0][tried[0]] * tables[1][tried[1]] * tables[2][tried[2]] >= target
    ]

    assert (ours.cost, ours.gap) == (min(costs), 0)
    assert ours.chance >= target
