"""Many plans for a day's cuts, each made from the last by taking some of it back and placing that
anew, in other turns and with other subsets; from a fixed seed, so that a day has one answer.

A stick takes the subset of the pieces left that fills it most, found by the sums that they reach.

Source: ruin and recreate: Schrimpf and others, Journal of Computational Physics 159 (2000) 139-171.
"""

import random
from collections.abc import Iterable, Sequence
from typing import Final

from kitting.plan.day_cuts import Job, Loads, ready_cost, stick_cost

SEED: Final = 1
AFRESH: Final = 0.02
"""How often all is placed anew."""
WORSE: Final = 0.02
"""How often a plan may be dearer than the last."""
AT_ONCE: Final = 4
"""Most sticks that are taken back together."""
EARLY: Final = 0.15
"""How often a new reel is looked at before remnants are used up."""
LOWER: Final = 0.15
"""How often a stick is filled to the second most."""


class Tries:
    """One day's plans, and the cheapest of them."""

    def __init__(self, job: Job) -> None:
        self.job, self.dice = job, random.Random(SEED)  # noqa: S311 - no secret
        self.long = [piece + job.weights.allowance for piece in job.pieces]
        self.shelf = [ready.stock for ready in job.ready]

    def best(self, tries: int) -> Loads:
        """The cheapest of so many plans."""
        best = now = self._anew()
        for _ in range(tries):
            if not best.cost:
                break
            if self.dice.random() < AFRESH:
                now = best = min(best, self._anew(), key=_cost)
                continue
            other = self._changed(now)
            slack = self.job.weights.kept if self.dice.random() < WORSE else 0
            if other.cost <= now.cost + slack:
                now = other
                best = min(best, now, key=_cost)
        return best

    def _anew(self) -> Loads:
        pieces = range(len(self.job.pieces))
        return self._placed(list(pieces), range(len(self.job.sticks)), Loads(0, {}, {}))

    def _changed(self, now: Loads) -> Loads:
        """A plan like this one, but for some sticks and half of the ready-made lengths."""
        used = list(now.sticks)
        number = min(len(used), self.dice.randint(1, AT_ONCE))
        back = set(self.dice.sample(used, number))
        sticks = {at: load for at, load in now.sticks.items() if at not in back}
        ready = {piece: at for piece, at in now.ready.items() if self.dice.random() < 1 / 2}
        placed = {*ready, *(piece for load in sticks.values() for piece in load)}
        free = [at for at in range(len(self.job.sticks)) if at not in sticks]
        pool = [piece for piece in range(len(self.long)) if piece not in placed]
        return self._placed(pool, free, Loads(0, sticks, ready))

    def _placed(self, pool: list[int], free: Iterable[int], kept: Loads) -> Loads:
        """A plan with these sticks and lengths kept, the pool placed on what is free."""
        dice, sticks, ready = self.dice, dict(kept.sticks), dict(kept.ready)
        left = list(self.shelf)
        for at in ready.values():
            left[at] -= 1
        dice.shuffle(pool)
        rate = dice.choice((0.0, 0.0, 0.05, 0.2))
        if rate:
            pool = [
                piece
                for piece in pool
                if dice.random() > rate or not self._take(piece, left, ready)
            ]
        first, last = self._turns(free)
        pool = self._cut(pool, first, sticks)
        pool = [piece for piece in pool if not self._take(piece, left, ready)]
        pool = self._cut(pool, last, sticks)
        return Loads(self._cost(sticks, ready, len(pool)), sticks, ready)

    def _turns(self, free: Iterable[int]) -> tuple[list[int], list[int]]:
        """Sticks in their turn, before ready-made lengths are taken and after."""
        dice, all_sticks = self.dice, self.job.sticks
        early, skipped = dice.random() < EARLY, dice.choice((0.0, 0.0, 0.1, 0.3))
        turn = list(free)
        dice.shuffle(turn)
        first: list[int] = []
        last: list[int] = []
        for at in turn:
            now = early if all_sticks[at].new else dice.random() >= skipped
            (first if now else last).append(at)
        return first, sorted(last, key=lambda at: all_sticks[at].new)

    def _take(self, piece: int, left: list[int], ready: dict[int, int]) -> bool:
        """Take the ready-made length that costs least, if one holds the piece."""
        mm, by = self.job.pieces[piece], self.job.weights
        able = [at for at, one in enumerate(self.job.ready) if left[at] and one.length >= mm]
        if not able:
            return False
        at = min(able, key=lambda at: ready_cost(self.job.ready[at].length, mm, by))
        left[at] -= 1
        ready[piece] = at
        return True

    def _cut(
        self, pool: list[int], turn: Sequence[int], sticks: dict[int, Sequence[int]]
    ) -> list[int]:
        """Fill one stick after the other; returns what is left of the pool."""
        for at in turn:
            if not pool:
                break
            room = self.job.sticks[at].length
            taken = pool
            if sum(self.long[piece] for piece in pool) > room:
                taken = self._filling(pool, room)
            if taken:
                sticks[at] = taken
                gone = set(taken)
                pool = [piece for piece in pool if piece not in gone]
        return pool

    def _filling(self, pool: Sequence[int], room: int) -> list[int]:
        """Pieces that fill a stick most, or sometimes second to that."""
        sums, before, within = 1, [], (1 << room + 1) - 1
        for piece in pool:
            before.append(sums)
            sums |= sums << self.long[piece] & within
        most = sums.bit_length() - 1
        if most and self.dice.random() < LOWER:
            most = (sums ^ 1 << most).bit_length() - 1
        taken = []
        for piece, had in zip(reversed(pool), reversed(before), strict=True):
            if not had >> most & 1:
                taken.append(piece)
                most -= self.long[piece]
        return taken

    def _cost(self, sticks: dict[int, Sequence[int]], ready: dict[int, int], missing: int) -> int:
        job, by = self.job, self.job.weights
        cut = sum(
            stick_cost(job.sticks[at], sum(self.long[piece] for piece in load), by)
            for at, load in sticks.items()
        )
        bought = sum(
            ready_cost(job.ready[at].length, job.pieces[piece], by) for piece, at in ready.items()
        )
        return cut + bought + by.missing * missing


def _cost(loads: Loads) -> int:
    return loads.cost
