"""Short stock shared out: generated short stocks with proven optima, and published knapsacks.

Sources: `tests/reference/instances.py`; knapsacks with several bounds: OR-Library mknap1 (Petersen
1967), each in `data/worked.json`.
"""

import pytest

from kitting.plan.most_kits import by_date, share
from tests.counts import FULL
from tests.reference.instances import instances, named, worked

SHORT = named("kits_", "jobs")
QUICK = [name for name in SHORT if name.startswith("kits_50x60") or name.endswith("200_1_count")]
PATIENT = 60.0
"""Seconds by the clock, on whatever machine."""


def lawful(jobs, stock, whole):
    """Whether no item is given more often than it is there."""
    return all(sum(jobs[at].get(item, 0) for at in whole) <= there for item, there in stock.items())


def read(name):
    """Jobs, stock and what each job is worth."""
    row = instances()[name]
    stock = {str(item): there for item, there in enumerate(row["stock"])}
    return row["jobs"], stock, row["value"]


@pytest.mark.parametrize("name", SHORT if FULL else QUICK)
def test_the_most_kits_are_found_and_proven(name):
    """The optimum that another solver proved, and what first come, first served reaches."""
    row = instances()[name]
    jobs, stock, value = read(name)
    found = share(jobs, stock, value, seconds=PATIENT)

    assert lawful(jobs, stock, found.whole)
    assert (found.worth, found.bound) == (row["optimum"], row["optimum"])
    assert sum(value[at] for at in found.whole) == found.worth
    assert sum(value[at] for at in by_date(jobs, stock)) == row["greedy_by_date"]


@pytest.mark.parametrize("name", QUICK)
def test_beyond_so_many_jobs_the_bound_is_shown(name):
    """By the linear program alone: no more than four in a hundred between plan and bound."""
    row = instances()[name]
    jobs, stock, value = read(name)
    found = share(jobs, stock, value, exact=0)

    assert lawful(jobs, stock, found.whole)
    assert found.worth <= row["optimum"] <= found.bound
    assert 100 * (found.bound - found.worth) <= 4 * found.bound


@pytest.mark.parametrize("name", [name for name in worked() if name.startswith("mkp-")])
def test_published_knapsacks(name):
    """The published optimum; values in tenths, so that they are whole."""
    row = worked()[name]
    needs = list(zip(*row["inputs"]["need"], strict=True))
    jobs = [{str(at): int(n) for at, n in enumerate(need) if n} for need in needs]
    assert [list(map(float, need)) for need in needs] == [list(need) for need in needs]
    stock = {str(at): int(there) for at, there in enumerate(row["inputs"]["stock"])}
    found = share(jobs, stock, [round(10 * value) for value in row["inputs"]["value"]])

    assert found.proven
    assert found.worth == round(10 * row["published"]["optimum"])
