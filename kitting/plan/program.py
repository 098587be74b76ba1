"""A program of whole numbers, built column by column and row by row, solved by HiGHS."""

from collections.abc import Mapping
from math import inf, isfinite
from typing import Any, Final, NamedTuple

HALF: Final = 0.5
"""What a solver gives as a whole number lies nearer to it than this."""


class Solved(NamedTuple):
    """What HiGHS says."""

    counts: tuple[int, ...]
    """Of each column, in the order they were added; none where it found no solution."""
    bound: float
    """No solution costs less; minus infinity where it does not say."""
    proven: bool
    """Whether no solution costs less than this one."""


class Program:
    """Costs to be kept low, each column from 0 to its most, each row between its two ends."""

    def __init__(self) -> None:
        self._costs: list[float] = []
        self._most: list[float] = []
        self._rows: list[tuple[Mapping[int, float], float, float]] = []

    def column(self, cost: float, most: float = 1) -> int:
        """Add a whole number from 0 to `most`; returns its place."""
        self._costs.append(cost)
        self._most.append(most)
        return len(self._costs) - 1

    def row(self, held: Mapping[int, float], least: float, most: float) -> None:
        """Add a rule. held: place of a column -> its factor; the sum keeps within the two."""
        if held:
            self._rows.append((held, least, most))

    def cost(self, place: int) -> float:
        """What one of a column costs."""
        return self._costs[place]

    @property
    def width(self) -> int:
        """How many columns there are."""
        return len(self._costs)

    def solve(self, seconds: float, gap: float = 0.0) -> Solved:
        """The best solution within so many seconds by the clock. gap: share of its cost by which
        another may be cheaper; where costs are whole, less than one is none."""
        # Three quarters of a second to load.
        from scipy.optimize import Bounds, LinearConstraint, milp

        matrix, least, most = self._matrix()
        found = milp(
            self._costs,
            integrality=[1] * self.width,
            bounds=Bounds(0, self._most),
            constraints=LinearConstraint(matrix, least, most),
            options={"time_limit": seconds, "mip_rel_gap": gap},
        )
        counts: tuple[int, ...] = () if found.x is None else tuple(int(x + HALF) for x in found.x)
        bound = found.mip_dual_bound
        told = self.shares()[1] if bound is None or not isfinite(bound) else float(bound)
        return Solved(counts, told, found.status == 0)

    def shares(self) -> tuple[tuple[float, ...], float]:
        """The best solution of parts, and what it costs: no whole one costs less. None and minus
        infinity where there is none."""
        from scipy.optimize import linprog
        from scipy.sparse import vstack

        matrix, least, most = self._matrix()
        ends = [*most, *(-end for end in least)]
        kept = [at for at, end in enumerate(ends) if isfinite(end)]
        found = linprog(
            self._costs,
            A_ub=vstack([matrix, -matrix]).tocsr()[kept],
            b_ub=[ends[at] for at in kept],
            bounds=[(0, most) for most in self._most],
        )
        return (tuple(found.x), float(found.fun)) if found.status == 0 else ((), -inf)

    def _matrix(self) -> tuple[Any, tuple[float, ...], tuple[float, ...]]:
        """The rows as a sparse array, the least and the most of each."""
        from scipy.sparse import csr_array

        told = [(v, at, place) for at, row in enumerate(self._rows) for place, v in row[0].items()]
        values, ys, xs = zip(*told, strict=True)
        shape = (len(self._rows), self.width)
        _, least, most = zip(*self._rows, strict=True)
        return csr_array((values, (ys, xs)), shape=shape, dtype=float), least, most
