"""How much of each item a van carries so that what its jobs ask for besides their kits is there.

What the jobs between two fillings take of an item is Poisson, or negative binomial where it varies
more. A day is whole when every item lasts; items multiply, as the number of jobs is given: with a
number that varies they would run short together, and the product would promise too much.

Source: base stock, expected shortage and fill rate of one filling as in any textbook of stock
control (checked against scipy.stats and published examples); items that have to be complete
together: the repair kit problem, Bijvank, Koole, Vis, European Journal of Operational Research 204
(2010) 76-85. Which chance is enough: the firm's own figure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from kitting.plan.cheapest import Column, cheapest

NEGLIGIBLE: Final = 1e-9
"""More of an item that is asked for with less than this chance is not looked at."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What is taken of one item between two fillings."""

    item: str
    mean: float
    """Pieces, above 0."""
    variance: float
    """Pieces squared; below the mean it counts as the mean."""
    cost: int
    """Of one piece on the van, in the firm's smallest coin, at least 1."""


@dataclass(frozen=True, slots=True)
class Levels:
    """How much of each item, in the order given."""

    counts: tuple[int, ...]
    chance: float
    """That every item lasts, 0 to 1."""
    cost: int
    gap: float
    """The cheapest possible may cost so much less, as a part of `cost`; 0 = proven."""


@lru_cache(maxsize=2000)
def enough(demand: Demand) -> tuple[float, ...]:
    """Chance that 0, 1, 2... pieces last, until more change nothing.

    >>> [round(chance, 4) for chance in enough(Demand("plug", 0.5, 0.5, 1))[:3]]
    [0.6065, 0.9098, 0.9856]
    """
    mean, over = demand.mean, demand.variance - demand.mean
    steady = over <= NEGLIGIBLE * mean
    often = mean * mean / over if not steady else 0.0  # the negative binomial's r
    fails = over / demand.variance if not steady else 0.0
    # Logarithms: of many pieces the first terms are too small for a number.
    log = -mean if steady else often * math.log1p(-fails)
    total = 0.0
    found: list[float] = []
    while total < 1 - NEGLIGIBLE:
        k = len(found)
        total = min(total + math.exp(log), 1.0)
        found.append(total)
        log += math.log(mean if steady else fails * (often + k)) - math.log(k + 1)
        if k > mean and math.exp(log) < NEGLIGIBLE * NEGLIGIBLE:
            break
    return tuple(found)


def base_stock(demand: Demand, chance: float) -> int:
    """Return the smallest level that lasts with at least this chance, above 0, below 1."""
    return next(level for level, sure in enumerate(enough(demand)) if sure >= chance)


def shortage(demand: Demand, level: int) -> float:
    """Return the pieces that are asked for beyond this level, on average."""
    table = enough(demand)
    # The mean of what lies above the level is the sum of the chances to go beyond each number.
    return sum(1 - sure for sure in table[level:])


def served(demand: Demand, level: int) -> float:
    """Return the part of all pieces asked for that this level serves, 0 to 1."""
    return 1 - shortage(demand, level) / demand.mean


def chance(demands: Sequence[Demand], levels: Sequence[int]) -> float:
    """Return the chance that every item lasts."""
    tables = [enough(demand) for demand in demands]
    pairs = zip(tables, levels, strict=True)
    return math.prod(table[min(level, len(table) - 1)] for table, level in pairs)


def levels(demands: Sequence[Demand], target: float) -> Levels:
    """Return the cheapest levels with which every item lasts with at least the chance `target`.

    target: above 0, below 1. Of equally cheap ones those with the better chance.
    """
    columns = [
        [
            Column(level, demand.cost * level, math.log(sure))
            for level, sure in enumerate(enough(demand))
            if sure >= target  # together they can be no surer than any of them
        ]
        for demand in demands
    ]
    if not columns:
        return Levels((), 1.0, 0, 0.0)
    found = cheapest(columns, math.log(target))
    cost = sum(one.cost * level for one, level in zip(demands, found.counts, strict=True))
    gap = max(0.0, 1 - found.bound / cost) if cost else 0.0
    return Levels(found.counts, chance(demands, found.counts), cost, gap)
