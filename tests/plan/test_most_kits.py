"""Short stock shared out, against every way to share it."""

import random
from itertools import combinations

import pytest

from kitting.plan.most_kits import by_date, share, short
from tests.counts import counts


def every(jobs, stock):
    """The sets of jobs that can be whole together, the largest first, of equals the earliest."""
    for size in range(len(jobs), -1, -1):
        for some in combinations(range(len(jobs)), size):
            if all(sum(jobs[at].get(item, 0) for at in some) <= n for item, n in stock.items()):
                yield some


@pytest.mark.parametrize("seed", range(counts(10, 200)))
def test_no_way_makes_more_kits_whole(seed):
    """Up to eight jobs over four items."""
    dice = random.Random(seed)
    jobs = [
        {item: dice.randint(1, 5) for item in "abcd" if dice.random() < 0.7}
        for _ in range(dice.randint(1, 8))
    ]
    stock = {item: dice.randint(0, 12) for item in "abcd"}
    found = share(jobs, stock)

    best = next(every(jobs, stock))
    assert found.whole in every(jobs, stock)
    assert (found.worth, found.bound) == (len(best), len(best))
    assert set(by_date(jobs, stock)) in map(set, every(jobs, stock))


def test_of_equals_the_earlier_is_served():
    """Three jobs want the one lead there is."""
    assert share([{"lead": 1}] * 3, {"lead": 1}).whole == (0,)


def test_what_is_not_in_stock_is_short():
    """An item that nobody named is not there; one that is enough is no question."""
    assert short([{"lead": 2, "stand": 1}], {"stand": 1}) == {"lead": 0}
    assert share([{"lead": 2}, {"stand": 1}], {"stand": 1}).whole == (1,)


def test_where_nothing_is_short_every_kit_is_whole():
    """No program is asked."""
    assert share([{"lead": 1}, {}], {"lead": 1}).whole == (0, 1)
    assert share([], {}).proven
