"""Whose things come broken: lots, suppliers or carriers with more damage than the others.

Each is compared with all others by Fisher's exact test, one-sided, and where things differ besides
(a carrier who brings only the fragile supplier's boxes) within groups that are alike: in each group
the damaged ones are drawn by chance, and the chances of the groups are added up exactly. Of many
tests some come out by chance: an alarm is what Benjamini and Hochberg leave at 5 %; a single
test below 5 % is only worth watching. The rate shown is drawn towards the rate of all, the more so
the fewer there were; its interval is that of the few themselves.

Sources: Fisher, The Design of Experiments (1935); Benjamini and Hochberg, Journal of the Royal
Statistical Society B 57 (1995) 289-300; shrinkage by moments as in Gelman and others, Bayesian Data
Analysis, chapter 5; which pair of rules to take: the project's planning notes, section 6.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, variance
from typing import Any, Final

from kitting.plan.figures.statistics import clopper_pearson, drawn

ALARM: Final = 0.05
"""Share of false alarms among all alarms that is allowed."""
WATCH: Final = 0.05
"""Chance of a single test below which it is worth watching."""
FEWEST: Final = 2.0
"""Things that the rate of all counts as, at least: one broken of one is not all of them."""
SURE: Final = 0.95
"""Of the interval."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Things of one kind that came together."""

    whose: str
    """The lot, supplier or carrier that is judged."""
    alike: Hashable
    """Compared only with others that have the same here: the item, the other partner."""
    bad: int
    total: int


@dataclass(frozen=True, slots=True)
class Judged:
    """One lot, supplier or carrier."""

    whose: str
    bad: int
    total: int
    chance: float
    """That so many or more are bad by chance, though it is no worse than the others; 1 where there
    is nobody to compare it with."""
    alarm: bool
    watch: bool
    rate: float
    """Drawn towards the rate of all."""
    low: float
    high: float
    """Between these its own rate lies with 95 %."""
    alone: bool
    """Nobody else has anything alike: no test says whether it is worse."""


def judged(seen: Iterable[Seen]) -> list[Judged]:
    """Judge each, the worst rate first.

    >>> one, other = judged([Seen("A", "", 9, 30), Seen("B", "", 4, 600)])
    >>> one.whose, one.alarm, other.alarm
    ('A', True, False)
    """
    groups: dict[Hashable, dict[str, list[int]]] = defaultdict(dict)
    for one in seen:
        counts = groups[one.alike].setdefault(one.whose, [0, 0])
        counts[0] += one.bad
        counts[1] += one.total
    sums: dict[str, list[int]] = {}
    for group in groups.values():
        for whose, (bad, total) in group.items():
            counts = sums.setdefault(whose, [0, 0])
            counts[0] += bad
            counts[1] += total
    names = [whose for whose, (_, total) in sums.items() if total]
    chances = [tail(_tables(whose, groups.values())) for whose in names]
    alarms = discoveries(chances, ALARM)
    prior = moments([(sums[whose][0], sums[whose][1]) for whose in names])
    found = []
    for whose, chance, alarm in zip(names, chances, alarms, strict=True):
        bad, total = sums[whose]
        low, high = clopper_pearson(bad, total, SURE)
        rate = shrunk(bad, total, prior)
        alone = not _tables(whose, groups.values())
        found.append(
            Judged(whose, bad, total, chance, alarm, chance < WATCH, rate, low, high, alone)
        )
    return sorted(found, key=lambda one: (-one.rate, one.chance, one.whose))


def _tables(
    whose: str, groups: Iterable[Mapping[str, Sequence[int]]]
) -> list[tuple[int, int, int, int]]:
    """(its bad, its all, bad of the group, all of the group), where the group has others."""
    found = []
    for group in groups:
        bad, total = (sum(counts[at] for counts in group.values()) for at in (0, 1))
        own = group.get(whose, (0, 0))
        if 0 < own[1] < total:
            found.append((own[0], own[1], bad, total))
    return found


def tail(tables: Sequence[tuple[int, int, int, int]]) -> float:
    """Chance of as many bad ones or more, if each group's bad ones fall on its things by chance.

    tables: (own bad, own all, bad of the group, all of the group); one is Fisher's test.

    >>> round(tail([(8, 10, 9, 16)]), 5)
    0.02448
    """
    import numpy as np

    chances: Any = np.ones(1)
    for _, own, bad, total in tables:
        few = np.arange(min(own, bad) + 1)
        chances = np.convolve(chances, drawn(few, total, bad, own))
    least = sum(table[0] for table in tables)
    return min(float(chances[least:].sum()), 1.0)


def discoveries(chances: Sequence[float], share: float) -> list[bool]:
    """Which of these tests count, so that no more than a share of what counts is expected false.

    >>> discoveries([0.01, 0.04, 0.03, 0.5], 0.05)
    [True, False, False, False]
    """
    rising = sorted(chances)
    kept = [p for rank, p in enumerate(rising, 1) if p <= share * rank / len(rising)]
    return [p <= max(kept, default=-1.0) for p in chances]


def moments(counts: Sequence[tuple[int, int]], *, plain: bool = False) -> tuple[float, float]:
    """Beta's two figures from the spread of rates. counts: (bad, all) of each.

    Of the spread what chance alone makes is taken off (plain: it is not, as the textbook does it).
    Where nothing is left, all count as having the rate of all.
    """
    rates = [bad / total for bad, total in counts]
    every = sum(total for _, total in counts)
    middle = fmean(rates) if rates else 0.0
    spread = variance(rates) if len(rates) > 1 else 0.0
    if not plain and rates:
        spread -= fmean(middle * (1 - middle) / total for _, total in counts)
    if spread <= 0:
        rate = sum(bad for bad, _ in counts) / every if every else 0.0
        return rate * every, (1 - rate) * every
    weight = max(middle * (1 - middle) / spread - 1, FEWEST)
    return middle * weight, (1 - middle) * weight


def shrunk(bad: int, total: int, prior: tuple[float, float]) -> float:
    """The rate with the prior's figures added to it.

    >>> round(shrunk(4, 14, (1.36, 8.62)), 3)
    0.224
    """
    return (bad + prior[0]) / (total + sum(prior))
