"""The fewest sticks of one length that hold all pieces, and how many it takes at least.

First the bound L2 against first fit and best fit by falling length. Only where they differ are
columns made (`plan.columns`), a column being what is cut from one stick.

Source: bound L2: Martello and Toth, Knapsack Problems (1990), chapter 8.
"""

import time
from collections.abc import Sequence
from typing import Final, NamedTuple

SECONDS: Final = 10.0
"""Seconds of a core after which the best plan so far is given, with its bound."""


class Fewest(NamedTuple):
    """A plan, and what no plan can be below."""

    sticks: tuple[tuple[int, ...], ...]
    """Lengths of the pieces cut from each stick, longest first."""
    bound: int
    """No plan takes fewer sticks."""

    @property
    def proven(self) -> bool:
        """Whether no plan takes fewer sticks than this one."""
        return len(self.sticks) == self.bound


def fewest(pieces: Sequence[int], stick: int, seconds: float = SECONDS) -> Fewest:
    """Plan. pieces: lengths, whole, 1 to `stick` each, in the unit of `stick`.

    Raises ValueError for a piece that no stick holds.

    >>> fewest([6, 4, 4, 4, 3, 3], 12)
    Fewest(sticks=((6, 3, 3), (4, 4, 4)), bound=2)
    """
    falling = sorted(pieces, reverse=True)
    if falling and not 0 < falling[-1] <= falling[0] <= stick:
        raise ValueError(f"expected pieces of 1 to {stick}, got {falling[-1]} to {falling[0]}")
    plan = min((fitted(falling, stick, best=best) for best in (False, True)), key=len)
    bound = least(falling, stick)
    if len(plan) > bound:
        from kitting.plan.columns import Search  # half a second to load, and few lists need it

        plan, bound = Search(falling, stick, plan, bound, time.thread_time() + seconds).run()
    shown = (tuple(sorted(one, reverse=True)) for one in plan)
    return Fewest(tuple(sorted(shown, reverse=True)), bound)


def fitted(falling: Sequence[int], stick: int, *, best: bool) -> list[list[int]]:
    """Each piece into the first stick that holds it, or into the one it leaves least of."""
    plan: list[list[int]] = []
    rooms: list[int] = []
    for piece in falling:
        able = [at for at, room in enumerate(rooms) if room >= piece]
        if not able:
            plan.append([piece])
            rooms.append(stick - piece)
            continue
        at = min(able, key=rooms.__getitem__) if best else able[0]
        plan[at].append(piece)
        rooms[at] -= piece
    return plan


def least(falling: Sequence[int], stick: int) -> int:
    """The bound L2: for each length up to half a stick, what longer pieces alone cannot share.

    >>> least([8, 8, 8, 3], 12), least([7, 7, 7], 12)
    (3, 3)
    """
    found = 0
    for short in {0, *(piece for piece in falling if 2 * piece <= stick)}:
        alone = [piece for piece in falling if piece > stick - short]
        halves = [piece for piece in falling if stick - short >= piece and 2 * piece > stick]
        small = [piece for piece in falling if 2 * piece <= stick and piece >= short]
        spare = stick * len(halves) - sum(halves)
        more = -(-(sum(small) - spare) // stick)
        found = max(found, len(alone) + len(halves) + max(0, more))
    return found
