"""The cheapest choice of one column from each line: against every choice, and by both roads."""

import itertools
import math
import random

import pytest

from kitting.plan import cheapest
from kitting.plan.cheapest import Column


def drawn(seed, lines, costs):
    """Lines of up to seven columns, dearer and surer; some columns are beaten by cheaper ones."""
    draw = random.Random(seed)
    found = []
    for _ in range(lines):
        price, short = draw.choice(costs), draw.uniform(0.01, 0.4)
        chances = [1 - short * draw.uniform(0.1, 1) ** count for count in range(draw.randint(1, 7))]
        found.append([Column(n, price * n, math.log(chance)) for n, chance in enumerate(chances)])
    return found


def reach(lines, share):
    """A bound between the least and the most that the lines come to."""
    low = sum(line[0].log for line in lines)
    high = sum(max(column.log for column in line) for line in lines)
    return low + share * (high - low) - 2e-6


def by_every_choice(lines, wanted):
    """(cost, -log) of the best choice, all of them looked at."""
    return min(
        (sum(column.cost for column in chosen), -sum(column.log for column in chosen))
        for chosen in itertools.product(*lines)
        if sum(column.log for column in chosen) >= wanted
    )


def told(lines, found):
    """(cost, -log) of a choice."""
    chosen = [
        next(column for column in line if column.number == count)
        for line, count in zip(lines, found.counts, strict=True)
    ]
    return sum(c.cost for c in chosen), -sum(c.log for c in chosen)


@pytest.mark.parametrize("share", [0, 0.3, 0.7, 0.95, 1])
@pytest.mark.parametrize("seed", range(10))
def test_nothing_is_cheaper_and_no_equal_surer(seed, share):
    """Of up to five lines every choice is looked at; with few prices many cost the same."""
    lines = drawn(seed, 1 + seed % 5, [3, 3, 5] if seed % 2 else range(1, 500))
    wanted = reach(lines, share)
    cost, log = told(lines, cheapest.cheapest(lines, wanted))

    assert (cost, pytest.approx(log)) == by_every_choice(lines, wanted)


@pytest.mark.parametrize("seed", range(3))
def test_both_roads_come_to_one_cost(seed, monkeypatch):
    """Where more choices are left than are walked, the solver finds the same."""
    lines = drawn(seed, 30, range(50, 90))
    wanted = reach(lines, 0.8)
    walked = told(lines, cheapest.cheapest(lines, wanted))
    monkeypatch.setattr(cheapest, "MOST", 0)
    solved = cheapest.cheapest(lines, wanted)

    assert told(lines, solved)[0] == walked[0]
    assert solved.bound == pytest.approx(walked[0], rel=1e-3)


def test_no_lines_cost_nothing():
    """There is one choice, the empty one."""
    assert cheapest.cheapest([], -0.1).counts == ()
