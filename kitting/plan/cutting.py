"""Which piece is cut from what lies there: one stick for each piece, never a sum, none used twice.

What is left of a piece that was kept counts in mm; a reel that has to be touched counts as if 4 m
were left, a new one as 8 m: a long remainder is worth keeping, and a reel that is opened stands
about. These two figures are our choice, no source. Up to ten pieces the plan is exact (0-1 program,
HiGHS); beyond that the longest piece goes first into the stick it leaves least of, and says so.
"""

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

KEPT, REEL, NEW = "kept", "reel", "new"
TOUCHED: Final = {REEL: 4_000, NEW: 8_000}
"""mm that touching one counts as; of a piece kept what is left of it."""
EXACT: Final = 10
"""Pieces up to which every plan is weighed."""
UNMET: Final = 10_000_000
"""mm that a piece without a stick counts as: more than any plan wastes."""
SECONDS: Final = 2.0


class Stick(NamedTuple):
    """One length that lies somewhere."""

    length: int
    """mm, in one piece"""
    kind: str
    """kept, reel (opened) or new"""


class Plan(NamedTuple):
    """What is cut from what."""

    of: tuple[int | None, ...]
    """For each piece, in the order asked, the place of its stick; None: nothing holds it."""
    exact: bool
    """Whether every other plan was weighed."""


def plan(pieces: Sequence[int], sticks: Sequence[Stick], most: int = EXACT) -> Plan:
    """The cheapest plan by `weight`. pieces: mm each, 1 or more.

    most: pieces up to which every plan is weighed, which can take SECONDS; 1: never so long.

    >>> plan([3000], [Stick(9000, "new"), Stick(5000, "kept"), Stick(3500, "kept")])
    Plan(of=(2,), exact=True)
    """
    useful = [at for at, stick in enumerate(sticks) if stick.length >= min(pieces, default=0)]
    if not pieces or not useful:
        return Plan((None,) * len(pieces), True)
    if len(pieces) == 1:
        holding = [at for at in useful if sticks[at].length >= pieces[0]]
        best = min(holding, key=lambda at: (weight(pieces, (at,), sticks), at), default=None)
        return Plan((best,), True)
    if len(pieces) <= most:
        found = _exact(pieces, sticks, useful)
        if found is not None:
            return Plan(found, True)
    return Plan(_longest_first(pieces, sticks, useful), False)


def weight(pieces: Sequence[int], of: Sequence[int | None], sticks: Sequence[Stick]) -> int:
    """What a plan costs in mm: pieces unmet, reels touched, and what is left of pieces kept."""
    cost = UNMET * sum(at is None for at in of)
    for at in {at for at in of if at is not None}:
        stick = sticks[at]
        load = sum(piece for piece, its in zip(pieces, of, strict=True) if its == at)
        cost += TOUCHED.get(stick.kind, stick.length - load)
    return cost


def _longest_first(
    pieces: Sequence[int], sticks: Sequence[Stick], useful: Sequence[int]
) -> tuple[int | None, ...]:
    rooms = {at: sticks[at].length for at in useful}
    found: dict[int, int | None] = {}
    for number in sorted(range(len(pieces)), key=lambda one: -pieces[one]):
        holding = [at for at in useful if rooms[at] >= pieces[number]]
        best = min(holding, key=lambda at: (_more(sticks[at], rooms[at], pieces[number]), at))
        found[number] = best if holding else None
        if holding:
            rooms[best] -= pieces[number]
    return tuple(found[number] for number in range(len(pieces)))


def _more(stick: Stick, room: int, piece: int) -> int:
    """What a piece adds to the weight of a stick: a reel that is touched already adds nothing."""
    fresh = room == stick.length
    if stick.kind in TOUCHED:
        return TOUCHED[stick.kind] if fresh else 0
    return room - piece if fresh else -piece


def _exact(
    pieces: Sequence[int], sticks: Sequence[Stick], useful: Sequence[int]
) -> tuple[int | None, ...] | None:
    """Columns: is piece p cut from stick s, is stick s touched. None: HiGHS ran out of time."""
    import numpy as np  # half a second: only where several pieces have to be weighed
    from scipy.optimize import Bounds, LinearConstraint, milp

    count, wide = len(pieces), len(useful)
    cost = np.zeros(count * wide + wide)
    rows = np.zeros((count + wide, len(cost)))
    for column, at in enumerate(useful):
        stick, touched = sticks[at], count * wide + column
        cost[touched] = TOUCHED.get(stick.kind, stick.length)
        rows[count + column, touched] = -stick.length
        for number, piece in enumerate(pieces):
            here = number * wide + column
            cost[here] = -UNMET - (0 if stick.kind in TOUCHED else piece)
            rows[number, here] = 1  # each piece at most once
            rows[count + column, here] = piece  # together no longer than the stick
    most = np.concatenate([np.ones(count), np.zeros(wide)])
    found = milp(
        cost,
        constraints=LinearConstraint(rows, -np.inf, most),
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
        options={"time_limit": SECONDS, "mip_rel_gap": 0},
    )
    if found.status != 0 or found.x is None:
        return None
    return tuple(_chosen(found.x, count, useful))


def _chosen(x: Sequence[float], count: int, useful: Sequence[int]) -> Iterator[int | None]:
    wide = len(useful)
    for number in range(count):
        row = x[number * wide : (number + 1) * wide]
        yield next((at for at, taken in zip(useful, row, strict=True) if taken > 1 / 2), None)
