"""Columns made as they are wanted, and rounded down step by step: fewest sticks of one length.

The linear program over columns gives a bound; from its solution whole columns are fixed, and
columns are made anew for the rest (a dive), then once more with one, two ... other choices on the
way. What is left open goes to HiGHS over all columns that were made.

Sources: columns: Gilmore and Gomory, Operations Research 9 (1961) 849-859. Bound from a column's
worth before all columns are there: Farley, Operations Research 38 (1990) 922-923. Other choices on
the way: limited discrepancy search, Harvey and Ginsberg, IJCAI 1995, 607-615.
"""

import time
from collections import Counter
from collections.abc import Iterator, Sequence
from math import ceil
from typing import Any, Final, NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from kitting.plan.equal_lengths import fitted
from kitting.plan.worth import Best, Cut, best

HAIR: Final = 1e-6
"""Sums of a linear program are rounded by so much at most."""
FINE: Final = 20_000
"""Lengths up to which a column is sought to the unit at once; of longer sticks first roughly."""
ROUGH: Final = 2_000
"""Steps of a long stick where it is sought roughly."""
CHOICES: Final = 8
"""Most other choices on one way down."""
SHAKEN: Final = 1e-3
"""By so much a stick's price is changed at random, for another of many equal solutions."""

Plan = list[list[int]]


class Part(NamedTuple):
    """A column and how often the linear program takes it."""

    share: float
    cut: Cut


class Search:
    """One list of pieces."""

    def __init__(
        self, pieces: Sequence[int], stick: int, plan: Plan, bound: int, until: float
    ) -> None:
        """plan: a lawful one. until: `time.thread_time()` at which it stops."""
        counted = Counter(pieces)
        self.lengths = sorted(counted, reverse=True)
        self.wanted: Cut = tuple(counted[length] for length in self.lengths)
        self.stick, self.plan, self.bound, self.until = stick, plan, bound, until
        full = [self._cut(one) for one in plan]
        one_kind = [self._cut([length] * self._most(length)) for length in self.lengths]
        self.columns = dict.fromkeys([*full, *one_kind])

    def run(self) -> tuple[Plan, int]:
        """The best plan found, and what no plan is below."""
        bound, parts = self._relaxed(self.wanted)
        self.bound = max(self.bound, bound)
        for choices in range(CHOICES):
            if self._over():
                break
            self._down(self.wanted, (), parts, choices)
        if not self._over():
            self._all_columns()
        dice = np.random.default_rng(1)
        while not self._over():
            self._down(self.wanted, (), self._shaken(dice), 1)
        return self.plan, self.bound

    def _over(self) -> bool:
        return len(self.plan) <= self.bound or time.thread_time() > self.until

    def _cut(self, pieces: Sequence[int]) -> Cut:
        counted = Counter(pieces)
        return tuple(counted[length] for length in self.lengths)

    def _most(self, length: int) -> int:
        return min(self.wanted[self.lengths.index(length)], self.stick // length)

    def _pieces(self, cut: Cut) -> list[int]:
        pairs = zip(self.lengths, cut, strict=True)
        return [length for length, count in pairs for _ in range(count)]

    def _relaxed(self, wanted: Cut) -> tuple[int, list[Part]]:
        """What no plan of these is below, and the linear program's solution."""
        known = dict.fromkeys(_within(cut, wanted) for cut in self.columns)
        known.pop((0,) * len(wanted), None)
        bound = 0.0
        while True:
            columns = list(known)
            solved = _program(np.ones(len(columns)), columns, wanted)
            new, floor = self._priced(-solved.ineqlin.marginals, wanted, solved.fun)
            bound = max(bound, floor)
            new = [cut for cut in new if cut not in known]
            known.update(dict.fromkeys(new))
            self.columns.update(dict.fromkeys(new))
            closed = ceil(bound - HAIR) >= ceil(solved.fun - HAIR)
            if closed or not new or time.thread_time() > self.until:
                return ceil(bound - HAIR), _parts(solved.x, columns)

    def _shaken(self, dice: np.random.Generator) -> list[Part]:
        """Another solution of the linear program over all columns made, nearly as good."""
        columns = list(self.columns)
        prices = 1 + SHAKEN * dice.random(len(columns))
        return _parts(_program(prices, columns, self.wanted).x, columns)

    def _priced(
        self, worths: Sequence[float], wanted: Cut, total: float
    ) -> tuple[list[Cut], float]:
        """Columns worth more than one stick, which share no piece; and a bound, 0 for none."""
        bound, found = 0.0, self._best(worths, wanted)
        if self.stick <= FINE:
            bound = total / max(found.worth, 1.0)
        elif found.worth <= 1 + HAIR:
            bound = total / max(self._best(worths, wanted, down=True).worth, 1.0)
            if ceil(bound - HAIR) < ceil(total - HAIR):
                found = best(self.lengths, self.stick, worths, wanted)
                bound = max(bound, total / max(found.worth, 1.0))
        new, left = [], wanted
        while found.worth > 1 + HAIR and any(found.cut):
            new.append(found.cut)
            left = _minus(left, found.cut)
            found = self._best(worths, left)
        return new, bound

    def _best(self, worths: Sequence[float], counts: Cut, *, down: bool = False) -> Best:
        """The best column; of a long stick one that surely fits (lengths rounded up), or what no
        column is above (rounded down)."""
        if self.stick <= FINE:
            return best(self.lengths, self.stick, worths, counts)
        step = self.stick // ROUGH
        if down:
            lengths = [length // step for length in self.lengths]
            return best(lengths, -(-self.stick // step), worths, counts)
        lengths = [-(-length // step) for length in self.lengths]
        return best(lengths, self.stick // step, worths, counts)

    def _down(self, wanted: Cut, taken: tuple[Cut, ...], parts: list[Part], choices: int) -> None:
        """Fix columns until nothing is wanted. choices: other columns than the likeliest."""
        whole = tuple(self._whole(wanted, parts))
        if whole:
            self._step(wanted, taken, whole, choices)
            return
        likeliest = sorted(parts, key=lambda part: (-part.share, -self._length(part.cut)))
        for other, part in enumerate(likeliest[: choices + 1]):
            if self._over():
                return
            self._step(wanted, taken, (_within(part.cut, wanted),), choices - other)

    def _whole(self, wanted: Cut, parts: Sequence[Part]) -> Iterator[Cut]:
        """What the linear program takes as a whole, as far as it is wanted."""
        for part in parts:
            for _ in range(int(part.share + HAIR)):
                cut = _within(part.cut, wanted)
                if any(cut):
                    yield cut
                    wanted = _minus(wanted, cut)

    def _length(self, cut: Cut) -> int:
        return sum(self._pieces(cut))

    def _step(
        self, wanted: Cut, taken: tuple[Cut, ...], more: tuple[Cut, ...], choices: int
    ) -> None:
        """With these columns fixed: finish by best fit, and go on where that is worth while."""
        taken += more
        for cut in more:
            wanted = _minus(wanted, cut)
        rest = fitted(self._pieces(wanted), self.stick, best=True)
        if len(taken) + len(rest) < len(self.plan):
            self.plan = [*map(self._pieces, taken), *rest]
        if not any(wanted) or self._over():
            return
        bound, parts = self._relaxed(wanted)
        if len(taken) + bound < len(self.plan):
            self._down(wanted, taken, parts, choices)

    def _all_columns(self) -> None:
        """HiGHS over all columns made. Plans are whole: what is nearer than one is the best."""
        seconds = (self.until - time.thread_time()) / 2
        columns = list(self.columns)
        found = milp(
            np.ones(len(columns)),
            integrality=np.ones(len(columns)),
            bounds=Bounds(0, max(self.wanted)),
            constraints=LinearConstraint(np.array(columns, float).T, self.wanted, np.inf),
            options={"time_limit": seconds, "mip_rel_gap": (1 - HAIR) / len(self.plan)},
        )
        if found.x is None or round(found.fun) >= len(self.plan):
            return
        whole = self._whole(self.wanted, _parts(found.x, columns))
        self.plan = [self._pieces(cut) for cut in whole]


def _program(prices: Any, columns: Sequence[Cut], wanted: Cut) -> Any:
    """The linear program: all that is wanted or more, from columns at these prices."""
    return linprog(
        prices,
        A_ub=-np.array(columns, float).T,
        b_ub=-np.array(wanted, float),
        bounds=(0, None),
        method="highs-ds",
    )


def _parts(shares: Sequence[float], columns: Sequence[Cut]) -> list[Part]:
    pairs = zip(shares, columns, strict=True)
    return [Part(share, cut) for share, cut in pairs if share > HAIR]


def _within(cut: Cut, wanted: Cut) -> Cut:
    return tuple(map(min, cut, wanted))


def _minus(wanted: Cut, cut: Cut) -> Cut:
    return tuple(had - gone for had, gone in zip(wanted, cut, strict=True))
