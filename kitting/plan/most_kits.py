"""Short stock shared out so that the most kits are whole: which jobs take, and the bound.

A job is served whole or not at all. Only items of which more is wanted than there is enter the
program. Up to EXACT jobs HiGHS proves the best; beyond, and where its time runs out, jobs are taken
by the share that the linear program gives them, and the program's value says how far from the best
that can be at most. Beside it: first come, first served, in the order of the jobs.

Source: 0-1 knapsack with several bounds, as in Kellerer, Pferschy, Pisinger, Knapsack Problems
(2004), chapter 9.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Final

from kitting.plan.program import Program

EXACT: Final = 500
"""Jobs up to which the best is proven."""
SECONDS: Final = 4.0
"""After so long by the clock the best so far is given, with its bound; 500 jobs take some one
second of a core."""
HAIR: Final = 1e-6

Need = Mapping[str, int]
"""Item -> how much of it a job still needs, 1 or more, in its base unit."""


@dataclass(frozen=True, slots=True)
class Shared:
    """Which jobs are served."""

    whole: tuple[int, ...]
    """Places of the jobs that are whole, rising."""
    worth: int
    """What they are worth together: how many they are, where each is worth 1."""
    bound: int
    """Nothing is worth more."""

    @property
    def proven(self) -> bool:
        """Whether nothing is worth more than this."""
        return self.worth == self.bound


def by_date(jobs: Sequence[Need], stock: Need) -> tuple[int, ...]:
    """Places of the jobs that are whole, first come, first served: a job that cannot be made whole
    takes nothing. jobs: in the order of their claims. What is not in stock is not there.

    >>> by_date([{"lead": 2}, {"lead": 1, "stand": 1}, {"stand": 1}], {"lead": 2, "stand": 1})
    (0, 2)
    """
    return _in_turn(jobs, stock, range(len(jobs)))


def share(
    jobs: Sequence[Need],
    stock: Need,
    worth: Sequence[int] = (),
    *,
    exact: int = EXACT,
    seconds: float = SECONDS,
) -> Shared:
    """Share out. jobs: in the order of their claims; of equals the earlier is served.

    worth: of each job, whole, 1 or more; empty: each 1. exact: jobs up to which HiGHS is asked.

    >>> share([{"lead": 2}, {"lead": 1}, {"lead": 1}], {"lead": 2})
    Shared(whole=(1, 2), worth=2, bound=2)
    """
    each = list(worth) or [1] * len(jobs)
    scarce = short(jobs, stock)
    bare = [{item: job[item] for item in job if item in scarce} for job in jobs]
    program = _program(bare, scarce, each)
    if program is None:
        return Shared(tuple(range(len(jobs))), sum(each), sum(each))
    shares, most = program.shares()
    turn = sorted(range(len(jobs)), key=lambda at: (-shares[at], -each[at], at))
    tried = [_in_turn(bare, scarce, turn), _in_turn(bare, scarce, range(len(jobs)))]
    found = max(tried, key=lambda some: _worth(some, each))
    bound = floor(-most + HAIR)
    if _worth(found, each) < bound and len(jobs) <= exact:
        solved = program.solve(seconds, (1 - HAIR) / (bound + 1))
        bound = min(bound, floor(-solved.bound + HAIR))
        taken = tuple(at for at, count in enumerate(solved.counts) if count)
        found = max(found, taken, key=lambda some: _worth(some, each))
    whole = _earlier(found, bare, scarce, each)
    return Shared(whole, _worth(whole, each), bound)


def short(jobs: Sequence[Need], stock: Need) -> dict[str, int]:
    """Items of which the jobs want more than there is -> what there is."""
    wanted: Counter[str] = Counter()
    for job in jobs:
        wanted.update(job)
    return {item: stock.get(item, 0) for item, n in wanted.items() if n > stock.get(item, 0)}


def _program(jobs: Sequence[Need], stock: Need, worth: Sequence[int]) -> Program | None:
    """A column for each job, a row for each item that is short; None where none is."""
    if not stock:
        return None
    program = Program()
    for each in worth:
        program.column(-each)
    for item, there in stock.items():
        held = {at: float(job[item]) for at, job in enumerate(jobs) if item in job}
        program.row(held, 0, there)
    return program


def _in_turn(jobs: Sequence[Need], stock: Need, turn: Sequence[int]) -> tuple[int, ...]:
    left, whole = dict(stock), []
    for at in turn:
        if all(left.get(item, 0) >= n for item, n in jobs[at].items()):
            whole.append(at)
            for item, n in jobs[at].items():
                left[item] -= n
    return tuple(sorted(whole))


def _earlier(
    whole: Sequence[int], jobs: Sequence[Need], stock: Need, worth: Sequence[int]
) -> tuple[int, ...]:
    """The same worth, or more, with earlier jobs in place of later ones where stock allows it."""
    taken = set(whole)
    left = dict(stock)
    for at in taken:
        for item, n in jobs[at].items():
            left[item] -= n
    for at in range(len(jobs)):
        if at in taken:
            continue
        later = [
            None,
            *sorted((one for one in taken if one > at and worth[one] <= worth[at]), reverse=True),
        ]
        for other in later:
            back = jobs[other] if other is not None else {}
            if all(left[item] + back.get(item, 0) >= n for item, n in jobs[at].items()):
                taken.add(at)
                taken -= {other}
                for item, n in back.items():
                    left[item] += n
                for item, n in jobs[at].items():
                    left[item] -= n
                break
    return tuple(sorted(taken))


def _worth(whole: Sequence[int], worth: Sequence[int]) -> int:
    return sum(worth[at] for at in whole)
