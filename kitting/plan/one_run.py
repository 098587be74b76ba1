"""Whole stacks from one run: which units go together, so that none is packed twice.

A run is what was made within so many days and may stand together by its revisions. Each stretch of
neighbours in the order of their days that fills a stack is a column, taken or not (0-1, HiGHS).

Source: exchange argument and columns as in the project's planning notes, section 4: where all
stacks ask the same window, two units of two stacks can change places until each stack holds
neighbours, so no other columns are wanted. Where windows or what stands differ from stack to stack,
or revisions pair off without sorting into groups (A with B, B with C, not A with C), the answer is
the best among neighbours.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations
from typing import Any, Final

from kitting.plan.made_within import Room

OLDEST, MOST = "oldest", "most"
WAYS: Final = (OLDEST, MOST)
SECONDS: Final = 1.5
"""After so long HiGHS gives the best found; the answer then says that it is not proven. A page
waits for it: 30 stacks from 40 runs take 0.2 to 1 s of a core, with barred revisions far more."""
HALF: Final = 0.5


@dataclass(frozen=True, slots=True)
class Stored:
    """One unit that may be taken."""

    key: int
    made: date
    revision: str = ""
    """Empty: nobody has read it; it may stand with any, until somebody reads it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One stack that waits for units of one item."""

    key: str
    """Unique."""
    job: str
    """All stacks of a job stand together: none may bar another's revision."""
    room: Room
    days: int
    """Most between the first and the last of a stack."""
    barred: frozenset[frozenset[str]] = frozenset()
    """Pairs of revisions that may not stand together."""
    beside: frozenset[str] = frozenset()
    """Revisions that stand or are packed there."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which stack takes which units, and what that means."""

    runs: Mapping[str, tuple[int, ...]]
    """Key of each stack that is whole -> its units."""
    age_left: int
    """Days since they were made, of all units that stay, added up."""
    oldest_left: date | None
    """The day on which the oldest was made that stays; None: nothing stays."""
    proven: bool
    """Whether no other choice is better."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Stacks that ask the same; any of them may take a column."""

    stacks: tuple[Wanted, ...]
    pools: tuple[frozenset[str], ...]
    """Revisions that may stand together, each as many as possible."""


@dataclass(frozen=True, slots=True)
class _Column:
    group: int
    pool: int
    units: tuple[Stored, ...] = field(repr=False)


def choose(units: Sequence[Stored], wanted: Sequence[Wanted], way: str, on: date) -> Chosen:
    """Choose runs for stacks. way: OLDEST lets the least age stay on the shelf, then makes most
    stacks whole; MOST makes the most stacks whole, then lets the least age stay.

    wanted: in the order of their claims; of stacks that ask the same the first are served first.
    on: the day on which ages are counted.
    """
    shelf = sorted(units, key=lambda unit: (unit.made, unit.key))
    groups = list(_groups(wanted, {unit.revision for unit in shelf}))
    columns = [
        column for number, group in enumerate(groups) for column in _columns(number, group, shelf)
    ]
    if not columns:
        return _told({}, shelf, on, proven=True)
    stacks = [1] * len(columns)
    ages = [sum(_age(unit, on) for unit in column.units) for column in columns]
    aims = [ages, stacks] if way == OLDEST else [stacks, ages]
    taken, proven = _solved(columns, groups, aims)
    if not proven:
        others = [_one_by_one(columns, groups, turn) for turn in WAYS]
        taken = max([taken, *others], key=lambda some: _worth(some, way, on))
    return _told(_shared(taken, groups), shelf, on, proven=proven)


def _worth(taken: Sequence[_Column], way: str, on: date) -> tuple[int, int]:
    """What a choice reaches of the first aim, and of the second."""
    age = sum(_age(unit, on) for column in taken for unit in column.units)
    return (age, len(taken)) if way == OLDEST else (len(taken), age)


def _one_by_one(columns: Sequence[_Column], groups: Sequence[_Group], turn: str) -> list[_Column]:
    """A choice to fall back on where HiGHS ran out of time. turn: the oldest column first and of
    those that begin on one day the longest (OLDEST), or the shortest first (MOST)."""
    found: list[_Column] = []
    gone: set[int] = set()
    left = [len(group.stacks) for group in groups]
    kept: dict[str, frozenset[str]] = {}

    def order(one: _Column) -> tuple[int, int]:
        made, size = one.units[0].made.toordinal(), len(one.units)
        return (made, -size) if turn == OLDEST else (size, made)

    for column in sorted(columns, key=order):
        group = groups[column.group]
        job, pool = group.stacks[0].job, group.pools[column.pool]
        own = len(group.pools) > 1  # revisions to choose from: all stacks of the job keep to one
        free = left[column.group] and gone.isdisjoint(unit.key for unit in column.units)
        if free and (not own or kept.setdefault(job, pool) == pool):
            found.append(column)
            left[column.group] -= 1
            gone.update(unit.key for unit in column.units)
    return found


def largest(units: Sequence[Stored], stack: Wanted) -> tuple[int, ...]:
    """Return the keys of as many neighbours as one stack can take, whole or not; oldest first."""
    shelf = sorted(units, key=lambda unit: (unit.made, unit.key))
    best: tuple[Stored, ...] = ()
    for pool in pools(stack.barred, stack.beside, {unit.revision for unit in shelf}):
        able = [unit for unit in shelf if unit.revision in pool or not unit.revision]
        for start in range(len(able)):
            run = _from(able, start, stack)
            if len(run) > len(best):
                best = run
    return tuple(unit.key for unit in best)


def _from(able: Sequence[Stored], start: int, stack: Wanted) -> tuple[Stored, ...]:
    """The longest run of a stack that begins there."""
    end = start
    while end < len(able) and end - start < stack.room.count:
        if not stack.room.takes(able[start].made, able[end].made, stack.days):
            break
        end += 1
    return tuple(able[start:end])


def pools(
    barred: frozenset[frozenset[str]], beside: frozenset[str], known: set[str]
) -> tuple[frozenset[str], ...]:
    """Return every set of known revisions that may stand together and with those beside them, to
    which none can be added.

    >>> pair = frozenset({frozenset({"A", "C"})})
    >>> [sorted(one) for one in pools(pair, frozenset(), {"A", "B", "C"})]
    [['A', 'B'], ['B', 'C']]
    """
    able = sorted(
        one for one in known - {""} if not any({one, other} in barred for other in beside)
    )
    found: list[frozenset[str]] = []
    for size in range(len(able), 0, -1):
        for some in map(frozenset, combinations(able, size)):
            apart = any(pair <= some for pair in barred)
            if not apart and not any(some <= other for other in found):
                found.append(some)
    return tuple(sorted(found, key=sorted)) or (frozenset(),)


def _groups(wanted: Sequence[Wanted], known: set[str]) -> Iterator[_Group]:
    """Stacks that ask the same, together; those of a job with a choice of revisions by its job."""
    several = Counter(stack.job for stack in wanted)
    alike: dict[tuple[object, ...], list[Wanted]] = {}
    for stack in wanted:
        if not stack.room.count:
            continue
        found = pools(stack.barred, stack.beside, known)
        own = stack.job if several[stack.job] > 1 and len(found) > 1 else ""
        alike.setdefault((stack.room, stack.days, found, own), []).append(stack)
    for key, stacks in alike.items():
        yield _Group(tuple(stacks), key[2])  # type: ignore[arg-type]  # the third is its pools


def _columns(number: int, group: _Group, shelf: Sequence[Stored]) -> Iterator[_Column]:
    first, seen = group.stacks[0], set()
    for pool, revisions in enumerate(group.pools):
        able = [unit for unit in shelf if unit.revision in revisions or not unit.revision]
        for start in range(len(able) - first.room.count + 1):
            run = _from(able, start, first)
            if len(run) == first.room.count and run not in seen:
                seen.add(run)
                yield _Column(number, pool, run)


def _solved(
    columns: Sequence[_Column], groups: Sequence[_Group], aims: Sequence[Sequence[int]]
) -> tuple[list[_Column], bool]:
    """Maximise the first aim, then the second without losing of the first."""
    # Three quarters of a second to load, and few kits need it.
    from scipy.optimize import LinearConstraint, milp

    rows, bounds = _rules(columns, groups)
    total = max((place for row in rows for place in row), default=0) + 1
    proven, shares = True, [0.0] * total
    for aim in aims:
        found = milp(
            [-value for value in aim] + [0] * (total - len(aim)),
            integrality=[1] * total,
            bounds=(0, 1),
            constraints=LinearConstraint(_matrix(rows, total), -float("inf"), bounds),
            options={"time_limit": SECONDS, "mip_rel_gap": 0.0},
        )
        proven = proven and found.status == 0
        if found.x is not None:
            shares = list(found.x)
        if not proven:
            break
        reached = sum(v for v, share in zip(aim, shares, strict=False) if share > HALF)
        rows = [*rows, {place: -value for place, value in enumerate(aim)}]
        bounds = [*bounds, HALF - reached]
    return [c for c, share in zip(columns, shares, strict=False) if share > HALF], proven


def _matrix(rows: Sequence[Mapping[int, float]], total: int) -> Any:
    """The rules as a sparse array of scipy."""
    from scipy.sparse import csr_array

    told = [(value, row, place) for row, held in enumerate(rows) for place, value in held.items()]
    values, ys, xs = zip(*told, strict=True)
    return csr_array((values, (ys, xs)), shape=(len(rows), total), dtype=float)


def _rules(
    columns: Sequence[_Column], groups: Sequence[_Group]
) -> tuple[list[dict[int, float]], list[float]]:
    """Rows (place of a variable -> factor) and what each may be at most."""
    per_unit: dict[int, dict[int, float]] = {}
    per_group: dict[int, dict[int, float]] = {}
    for place, column in enumerate(columns):
        per_group.setdefault(column.group, {})[place] = 1
        for unit in column.units:
            per_unit.setdefault(unit.key, {})[place] = 1
    rows, bounds = list(per_unit.values()), [1.0] * len(per_unit)
    for group, row in per_group.items():
        rows.append(row)
        bounds.append(len(groups[group].stacks))
    return _one_pool(columns, groups, rows, bounds)


def _one_pool(
    columns: Sequence[_Column],
    groups: Sequence[_Group],
    rows: list[dict[int, float]],
    bounds: list[float],
) -> tuple[list[dict[int, float]], list[float]]:
    """A job with a choice of revisions and several stacks keeps to one choice: a variable each."""
    jobs = Counter(stack.job for group in groups for stack in group.stacks)
    picked: dict[tuple[str, frozenset[str]], int] = {}
    linked: dict[int, dict[int, float]] = {}
    for place, column in enumerate(columns):
        group = groups[column.group]
        job = group.stacks[0].job
        if len(group.pools) > 1 and jobs[job] > 1:
            key = (job, group.pools[column.pool])
            variable = picked.setdefault(key, len(columns) + len(picked))
            linked.setdefault(variable, {variable: -jobs[job]})[place] = 1
    rows += linked.values()
    bounds += [0.0] * len(linked)
    for job in {job for job, _ in picked}:
        rows.append({variable: 1 for (one, _), variable in picked.items() if one == job})
        bounds.append(1)
    return rows, bounds


def _shared(taken: Sequence[_Column], groups: Sequence[_Group]) -> dict[str, tuple[int, ...]]:
    """Give each group's columns, oldest first, to its stacks in the order of their claims."""
    free = {number: list(group.stacks) for number, group in enumerate(groups)}
    return {
        free[column.group].pop(0).key: tuple(unit.key for unit in column.units)
        for column in sorted(taken, key=lambda one: [(u.made, u.key) for u in one.units])
    }


def _told(
    runs: Mapping[str, tuple[int, ...]], shelf: Sequence[Stored], on: date, *, proven: bool
) -> Chosen:
    gone = {key for run in runs.values() for key in run}
    left = [unit for unit in shelf if unit.key not in gone]
    oldest = min((unit.made for unit in left), default=None)
    return Chosen(runs, sum(_age(unit, on) for unit in left), oldest, proven)


def _age(unit: Stored, on: date) -> int:
    """Days since it was made; a date to come counts as none."""
    return max((on - unit.made).days, 0)
