"""The cheapest choice of one column from each line, so that their logarithms add up to a bound.

Each line has columns (cost, logarithm of a chance); taking more costs more and is surer. Exact: a
bound from below (Lagrange), one from above (greedy), and between them every choice that no other
beats in both cost and chance. Where too many are left the solver HiGHS takes over, for a time.

Source: multiple-choice knapsack by dominance and bounds as in Kellerer, Pferschy, Pisinger,
Knapsack Problems (2004), chapter 11.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

SECONDS: Final = 5.0
"""After so long HiGHS gives the best found, with what any choice costs at least."""
MOST: Final = 600
"""Choices kept side by side before HiGHS is asked."""
HAIR: Final = 1e-12
"""Asked beyond the bound: sums and products of chances are rounded otherwise."""
WHOLE: Final = 1e-6
"""Costs are whole: so much is rounding."""
SLACK: Final = 1e-6
"""The same for HiGHS, which takes a bound as kept within less."""


class Column(NamedTuple):
    """One way to take a line."""

    number: int
    """How many of it."""
    cost: int
    """0 or more; whole, so that equals are equal."""
    log: float
    """Logarithm of the chance that the line is enough."""


Line = Sequence[Column]


class State(NamedTuple):
    """A choice of the lines so far."""

    cost: int
    log: float
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """The counts of each line, and what any choice costs at least."""

    counts: tuple[int, ...]
    bound: float


class _TooMany(Exception):
    """More choices are left than are worth walking."""


def cheapest(lines: Sequence[Line], wanted: float) -> Found:
    """The cheapest choice whose logarithms add up to `wanted`; of equals the surest.

    lines: columns by rising cost; the dearest of all lines together reach `wanted` and 1e-6 more.

    >>> bolt = [Column(0, 0, -0.3), Column(1, 5, -0.1), Column(2, 10, -0.01)]
    >>> cheapest([bolt, bolt], -0.25).counts
    (1, 1)
    """
    kept = [_rising(line) for line in lines]
    rate, greedy = _greedy(kept, wanted + SLACK)
    most = sum(column.cost for column in greedy)
    able = _able(kept, wanted + HAIR, rate, most)
    try:
        return _walked(able, wanted + HAIR, rate, most)
    except _TooMany:
        return _solved(able, wanted + SLACK)


def _rising(line: Line) -> list[Column]:
    """The columns that are surer than all cheaper ones."""
    kept = [line[0]]
    for column in line[1:]:
        if column.log > kept[-1].log:
            kept.append(column)
    return kept


def _greedy(lines: Sequence[Line], wanted: float) -> tuple[float, list[Column]]:
    """Cost of one unit of logarithm where the bound is met, and a choice that meets it."""
    taken = [line[0] for line in lines]
    total = sum(column.log for column in taken)
    rate = 0.0
    # Step by step along each line's hull, the cheapest gain of all lines first.
    steps = sorted(
        ((to.cost - at.cost) / (to.log - at.log), place, to)
        for place, line in enumerate(lines)
        for at, to in _hull(line)
    )
    for price, place, to in steps:
        if total >= wanted:
            break
        total += to.log - taken[place].log
        taken[place], rate = to, price
    return rate, _trimmed(lines, taken, wanted)


def _hull(line: Line) -> list[tuple[Column, Column]]:
    """Neighbours on the line's upper hull: gains that cost more and more."""
    hull: list[Column] = []
    for column in line:
        while len(hull) > 1 and _below(hull[-2], hull[-1], column):
            hull.pop()
        hull.append(column)
    return list(itertools.pairwise(hull))


def _below(low: Column, middle: Column, high: Column) -> bool:
    gain, whole = middle.log - low.log, high.log - low.log
    return gain * (high.cost - low.cost) <= whole * (middle.cost - low.cost)


def _trimmed(lines: Sequence[Line], taken: list[Column], wanted: float) -> list[Column]:
    """The same choice without what it can do without, the dearest first."""
    total = sum(column.log for column in taken)
    for place in sorted(range(len(taken)), key=lambda place: -taken[place].cost):
        for column in lines[place]:
            spared = taken[place].log - column.log
            if column.cost < taken[place].cost and total - spared >= wanted:
                total -= spared
                taken[place] = column
                break
    return taken


def _able(lines: Sequence[Line], wanted: float, rate: float, most: int) -> list[Line]:
    """Of each line the columns with which a choice may still end at `most` or below."""
    rest = [min(_price(column, rate) for column in line) for line in lines]
    slack = most + WHOLE - sum(rest) - rate * wanted
    return [
        [column for column in line if _price(column, rate) - least <= slack]
        for line, least in zip(lines, rest, strict=True)
    ]


def _price(column: Column, rate: float) -> float:
    """Its cost less what its chance is worth."""
    return column.cost - rate * column.log


def _walked(lines: Sequence[Line], wanted: float, rate: float, most: int) -> Found:
    """Line by line every choice that may still end at `most` or below and that none beats."""
    order = sorted(range(len(lines)), key=lambda place: len(lines[place]))
    ahead = sum(min(_price(column, rate) for column in line) for line in lines)
    states: list[State] = [State(0, 0.0, ())]
    for place in order:
        ahead -= min(_price(column, rate) for column in lines[place])
        states = _extended(states, lines[place], most + WHOLE - ahead - rate * wanted, rate)
    cost, _, counts = next(state for state in states if state.log >= wanted)
    placed = dict(zip(order, counts, strict=True))
    return Found(tuple(placed[place] for place in range(len(lines))), cost)


def _extended(states: list[State], line: Line, ceiling: float, rate: float) -> list[State]:
    """Each choice with each column of one more line; what is beaten or too dear is dropped."""
    grown = sorted(
        (
            State(cost + column.cost, log + column.log, (*counts, column.number))
            for cost, log, counts in states
            for column in line
            if cost + column.cost - rate * (log + column.log) <= ceiling
        ),
        key=lambda state: (state.cost, -state.log),
    )
    kept: list[State] = []
    for state in grown:
        if not kept or state.log > kept[-1].log:
            kept.append(state)
    if len(kept) > MOST:
        raise _TooMany
    return kept


def _solved(lines: Sequence[Line], wanted: float) -> Found:
    """HiGHS: one 0-1 variable for each column, one of each line to be taken."""
    # Three quarters of a second to load, and hardly any kit needs it.
    from scipy.optimize import LinearConstraint, milp
    from scipy.sparse import csr_array

    columns = [(place, column) for place, line in enumerate(lines) for column in line]
    # Costs are whole; where the lines reach log 0.13 the surer of equals weighs less than one.
    prices = [column.cost - column.log / 2 for _, column in columns]
    places = [place for place, _ in columns]
    one_each = csr_array(([1.0] * len(columns), (places, range(len(columns)))))
    found = milp(
        prices,
        integrality=[1] * len(columns),
        bounds=(0, 1),
        constraints=[
            LinearConstraint(one_each, 1, 1),
            LinearConstraint([[column.log for _, column in columns]], wanted),
        ],
        options={"time_limit": SECONDS, "mip_rel_gap": 0.0},
    )
    if found.x is None:
        return Found(tuple(line[-1].number for line in lines), 0.0)
    taken = dict(held for held, share in zip(columns, found.x, strict=True) if share > 0.5)
    return Found(tuple(taken[place].number for place in range(len(lines))), found.mip_dual_bound)
