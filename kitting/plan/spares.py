"""Spares by risk: how likely a kit is enough, and the cheapest spares that make it likely enough.

The model, line by line. Each piece is lost or broken with a chance p that is not known, only
learned: Beta(lost, good), the item's record on top of a stated prior. A spare breaks as readily as
any other piece, so what `needed` good pieces take is negative binomial, and with p unknown
beta-negative binomial. Besides, the line's whole bag is lost with the chance `bag`; spares travel
apart from it. Lines multiply: losses of one bag's lines come together in truth, so the kit is a
little more likely to be enough than is said here.

Source: negative binomial and its mixture over Beta as in any textbook of statistics (checked
against scipy.stats.betanbinom); that each line at 99 % leaves a kit of 60 lines at 81 %: own
calculation. What the prior is: common practice, no published source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from kitting.plan.cheapest import Column, cheapest

PRIOR: Final = (1, 199)
"""Pieces lost and good that an item without a record is taken to have: 1 in 200."""
BAG_PRIOR: Final = (1, 1999)
"""Lines that went with a lost bag, and lines that did not: 1 in 2000."""
WITHIN: Final = 0.99999
"""No more than this part of the best possible chance is aimed at: the rest has no price."""
NEGLIGIBLE: Final = 1e-9
"""A line that is short with less than this chance gets no further spare."""


@dataclass(frozen=True, slots=True)
class Uncertain:
    """One item of a kit, over all its steps, that may get lost or break."""

    item: str
    needed: int
    """Pieces that must be good, at least 1."""
    cost: int
    """Of one spare, in the firm's smallest coin, at least 1."""
    lost: float = PRIOR[0]
    good: float = PRIOR[1]
    """Beta's two figures: the prior plus what the record says, in pieces."""
    bag: float = BAG_PRIOR[0] / sum(BAG_PRIOR)
    """Chance that the bag it travels in is lost."""
    least: int = 0
    """Spares it has whatever they cost: a small part that stops the job has one always."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What to take besides, and how likely the kit is enough with it."""

    spares: tuple[int, ...]
    """Of each line, in the order given."""
    chance: float
    """That the kit is enough, 0 to 1."""
    without: float
    """The same without any spare."""
    cost: int
    reached: bool
    """False: no number of spares reaches the target, or none short of the last 1 in 100,000 of what
    is possible; then `spares` is about the best there is."""
    gap: float
    """The cheapest possible may cost so much less, as a part of `cost`; 0 = proven the cheapest."""


@lru_cache(maxsize=2000)
def chances(line: Uncertain) -> tuple[float, ...]:
    """Chance that the line is enough with 0, 1, 2... spares, until more change nothing.

    >>> [round(chance, 4) for chance in chances(Uncertain("bolt", 20, 1, bag=0))[:3]]
    [0.9087, 0.9913, 0.9991]
    """
    enough = _enough(line)
    found = []
    for spares in range(len(enough)):
        alone = enough[spares - line.needed] if spares >= line.needed else 0.0
        found.append((1 - line.bag) * enough[spares] + line.bag * alone)
    return tuple(found)


def _enough(line: Uncertain) -> list[float]:
    """Chance of at most 0, 1, 2... losses before `needed` pieces are good."""
    a, b, n = line.lost, line.good, line.needed
    # A product keeps its digits where the difference of two log-gammas would lose them.
    term = math.prod((b + i) / (a + b + i) for i in range(n))
    total, found = 0.0, []
    for k in range(4 * n + 101):
        total = min(total + term, 1.0)
        found.append(total)
        # With a bag to lose, a second bagful must be within reach.
        if 1 - total < NEGLIGIBLE and (not line.bag or k >= 2 * n):
            break
        term *= (n + k) / (k + 1) * (a + k) / (a + b + n + k)
    return found


def chance(lines: Sequence[Uncertain], spares: Sequence[int]) -> float:
    """Chance that the kit is enough: the lines multiply."""
    return _together([chances(line) for line in lines], spares)


def _together(tables: Sequence[Sequence[float]], spares: Sequence[int]) -> float:
    return math.prod(
        table[min(count, len(table) - 1)] for table, count in zip(tables, spares, strict=True)
    )


def choose(lines: Sequence[Uncertain], target: float) -> Chosen:
    """The cheapest spares with which the kit is enough with at least the chance `target`.

    target: above 0, below 1. Of equally cheap ones, those with the better chance; so a higher
    target never costs less and never gives a lower chance.
    """
    tables = [chances(line) for line in lines]
    least = [min(line.least, len(table) - 1) for line, table in zip(lines, tables, strict=True)]
    best = sum(math.log(max(table)) for table in tables)
    # Never beyond it: else a target out of reach would cost less than one just within.
    aimed = min(math.log(target), best + math.log(WITHIN))
    columns = [
        [Column(n, line.cost * n, math.log(table[n])) for n in range(first, len(table))]
        for line, table, first in zip(lines, tables, least, strict=True)
    ]
    found = cheapest(columns, aimed)
    cost = sum(line.cost * count for line, count in zip(lines, found.counts, strict=True))
    reached = _together(tables, found.counts)
    gap = max(0.0, 1 - found.bound / cost) if cost else 0.0
    bare = _together(tables, [0] * len(lines))
    return Chosen(found.counts, reached, bare, cost, reached >= target, gap)
