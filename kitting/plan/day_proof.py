"""HiGHS over a day's cuts: a cheaper plan than the one in hand, or what none costs less than.

How many pieces of each length come from each stick; whether a stick is put back or used up, and how
much of one used up is scrap. The plan in hand is a column of its own, which takes every piece:
scipy gives HiGHS no start, and so it has one.

Source: the program as in the project's planning notes, section 1, with one change: of a stick that
is used up only what pieces can add up to counts as its length.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from math import ceil, inf
from typing import Final, NamedTuple

from kitting.plan.day_cuts import Job, Loads, Stick, most_of, ready_cost, stick_cost
from kitting.plan.program import Program

HAIR: Final = 1e-6


class _Column(NamedTuple):
    """So many pieces of one length from one place."""

    length: int
    place: int
    """Of a stick, or of a ready-made length."""
    ready: bool
    column: int


def proved(job: Job, found: Loads, seconds: float) -> tuple[Loads, int]:
    """The cheapest plan known, and what no plan costs less than."""
    program = Program()
    columns: list[_Column] = []
    counts = Counter(job.pieces)
    for at, stick in enumerate(job.sticks):
        columns += _from_stick(program, job, stick, at)
    for at in range(len(job.ready)):
        columns += _from_ready(program, job, counts, at)
    missing = {length: program.column(job.weights.missing, n) for length, n in counts.items()}
    own = {place: program.cost(place) for place in range(program.width) if program.cost(place)}
    in_hand = program.column(found.cost)
    for length, n in counts.items():
        held = {one.column: 1.0 for one in columns if one.length == length}
        program.row({**held, missing[length]: 1, in_hand: n}, n, n)
    program.row({**own, in_hand: found.cost - 1}, 0, found.cost - 1)  # another only if cheaper
    solved = program.solve(seconds)
    bound = min(found.cost, max(0, ceil(max(solved.bound, 0) - HAIR)))
    if not solved.counts or solved.counts[in_hand]:
        return found, bound
    better = _read(job, columns, solved.counts)
    return (better, bound) if better.cost < found.cost else (found, bound)


def _from_stick(program: Program, job: Job, stick: Stick, at: int) -> Iterator[_Column]:
    by, counts = job.weights, Counter(job.pieces)
    able = {n: n + by.allowance for n in counts if n + by.allowance <= stick.length}
    if not able:
        return
    whole = most_of([able[n] for n in job.pieces if n in able], stick.length)
    opened = by.opened * stick.new
    kept = program.column(opened + by.kept)
    used = program.column(opened + stick.length - whole)
    scrap = program.column(1, by.useful)
    load: dict[int, float] = {}
    for length, long in able.items():
        most = min(counts[length], stick.length // long)
        column = program.column(0, most)
        load[column] = long
        program.row({column: 1, kept: -most, used: -most}, -inf, 0)
        yield _Column(length, at, False, column)
    program.row({**load, kept: by.useful - stick.length, used: -whole}, -inf, 0)
    program.row({**load, used: -whole, scrap: 1}, 0, inf)
    program.row({kept: 1, used: 1}, 0, 1)


def _from_ready(
    program: Program, job: Job, counts: Mapping[int, int], at: int
) -> Iterator[_Column]:
    ready, here = job.ready[at], []
    for length, n in counts.items():
        if length <= ready.length:
            cost = ready_cost(ready.length, length, job.weights)
            column = program.column(cost, min(n, ready.stock))
            here.append(_Column(length, at, True, column))
    program.row({one.column: 1 for one in here}, 0, ready.stock)
    yield from here


def _read(job: Job, columns: Sequence[_Column], counts: Sequence[int]) -> Loads:
    """The plan that a solution stands for, what it costs counted anew."""
    left: dict[int, list[int]] = defaultdict(list)
    for place, length in enumerate(job.pieces):
        left[length].append(place)
    sticks: dict[int, list[int]] = defaultdict(list)
    ready: dict[int, int] = {}
    for one in columns:
        for _ in range(counts[one.column]):
            piece = left[one.length].pop()
            if one.ready:
                ready[piece] = one.place
            else:
                sticks[one.place].append(piece)
    return Loads(cost(job, sticks, ready), sticks, ready)


def cost(job: Job, sticks: Mapping[int, Sequence[int]], ready: Mapping[int, int]) -> int:
    """What a plan costs, pieces that it leaves out among it."""
    by = job.weights
    placed = len(ready) + sum(map(len, sticks.values()))
    total = by.missing * (len(job.pieces) - placed)
    for at, load in sticks.items():
        cut = sum(job.pieces[piece] + by.allowance for piece in load)
        total += stick_cost(job.sticks[at], cut, by)
    for piece, at in ready.items():
        total += ready_cost(job.ready[at].length, job.pieces[piece], by)
    return total
