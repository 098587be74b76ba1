"""Works something out once for every outcome it can have: the answers it is seen to ask for are
walked, in the order in which it asks, and nothing else is.

An evaluation is given some answers; whatever else it reads gets its first possible answer and is
noted. Its outcome then stands for all configurations that agree in what was read, and the other
answers of each question read are walked in turn. So every evaluation is an outcome of its own, and
a question that is read only here or there is walked only here or there.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache, partial
from typing import TypeVar

from kitting.plan import breakpoints, limits, outline, space
from kitting.plan.conditions import holds
from kitting.plan.family import Family
from kitting.plan.limits import Limit
from kitting.plan.site import SHAPE, SHAPE_NAMES, Scope, Site, Value
from kitting.plan.space import Chosen, Shape
from kitting.plan.steps import JOBS

Found = TypeVar("Found")
JOB = "job"


class Answers:
    """The answers of one evaluation: those it was given, and the first possible one of whatever
    else it asks for."""

    __slots__ = ("chosen", "every", "family", "jobs", "open", "shapes")

    def __init__(
        self,
        family: Family,
        given: Chosen,
        jobs: Sequence[str],
        shapes: Sequence[Shape],
        every: bool = False,
    ) -> None:
        self.family = family
        self.chosen: dict[str, Value | Shape] = dict(given)
        """Every name read so far, and what was given."""
        self.open: list[tuple[str, Sequence[Value | Shape]]] = []
        """What was read without being given, in order, with all its possible answers."""
        self.jobs = jobs
        self.shapes = shapes
        self.every = every
        """Whether lengths are walked at figures too that mean nothing to what was read."""

    def answer(self, name: str) -> Value | Shape:
        """The answer to one question; None where it does not arise."""
        if name in self.chosen:
            return self.chosen[name]
        values = self.possible(name)
        if len(values) > 1:
            self.open.append((name, values))
        self.chosen[name] = values[0]
        return values[0]

    def possible(self, name: str) -> Sequence[Value | Shape]:
        """Every answer there is; reads whatever decides whether the question arises."""
        if name == SHAPE:
            return self.shapes
        if name == JOB:
            return self.jobs
        axis = self.family.axes[name]
        if axis.when and not holds(axis.when, Scope(Asker(self), {})):
            return (None,)
        read = {} if self.every else self.chosen
        return breakpoints.walked(self.family, axis, self.answer, read)


class Asker(Site):
    """A site whose answers are found as they are asked for."""

    __slots__ = ("as_job", "found")

    def __init__(self, found: Answers, as_job: str = "") -> None:
        """`as_job`: the job it is seen for, whichever is asked; empty = the one that is asked."""
        # No `shape` and no `answers`: whoever looks there instead of reading fails at once.
        self.seen = None
        self.tall = partial(outline.height, found.family)
        self.found = found
        self.as_job = as_job

    def read(self, name: str) -> Value:
        """The answer, noted as read."""
        if name in self.found.family.axes:
            value = self.found.answer(name)
            assert not isinstance(value, tuple)
            return value
        if name in SHAPE_NAMES:
            return _of_shape(self.stacks())[name]
        if name == JOB:
            return self.as_job or str(self.found.answer(JOB))
        return None

    def stacks(self) -> Shape:
        """Modules of each stack, noted as read."""
        shape = self.found.answer(SHAPE)
        assert isinstance(shape, tuple)
        return shape

    def for_job(self, job: str) -> Site:
        """The same site seen for another job."""
        return Asker(self.found, job)


@lru_cache(maxsize=4096)
def _of_shape(shape: Shape) -> Mapping[str, int]:
    return {"stacks": len(shape), "modules": max(shape), "total_modules": sum(shape)}


Evaluate = Callable[[Asker, Answers], Found]


def each(
    family: Family,
    evaluate: Evaluate[Found],
    given: Chosen | None = None,
    jobs: Sequence[str] = JOBS,
    shapes: Sequence[Shape] | None = None,
    every: bool = False,
) -> Iterator[tuple[Chosen, Found]]:
    """Each outcome with the answers it rests on; `given` ones stay. Together they cover every
    configuration exactly once. None where the family has no shape at all."""
    allowed = legal_shapes(family) if shapes is None else shapes
    waiting: list[Chosen] = [dict(given or {})] if allowed else []
    while waiting:
        start = waiting.pop()
        found = Answers(family, start, jobs, allowed, every)
        outcome = evaluate(Asker(found), found)
        yield found.chosen, outcome
        before = dict(start)
        later: list[Chosen] = []
        for name, values in found.open:
            later += [{**before, name: value} for value in values[:0:-1]]
            before[name] = values[0]
        waiting += later


@lru_cache(maxsize=64)
def legal_shapes(family: Family) -> tuple[Shape, ...]:
    """The rows of stacks that no limit refuses whatever the other answers are, smallest first."""
    return tuple(shape for shape in space.shapes(family) if not _barred(family, shape))


def _barred(family: Family, shape: Shape) -> bool:
    for limit in family.limits:
        found = Answers(family, {SHAPE: shape}, JOBS, (shape,))
        if limits.broken(limit, family, Asker(found)) and not found.open:
            return True
    return False


def first_legal(family: Family, given: Chosen, jobs: Sequence[str]) -> Chosen | None:
    """The smallest legal configuration with these answers; None where none is legal."""
    shape = given.get(SHAPE)
    for one in legal_shapes(family) if shape is None else (shape,):
        assert isinstance(one, tuple)
        in_turn = list(family.limits)
        evaluate = partial(_keeps, family, in_turn)
        for chosen, legal in each(family, evaluate, {**given, SHAPE: one}, jobs):
            if legal:
                return chosen
    return None


def _keeps(family: Family, in_turn: list[Limit], at: Asker, found: Answers) -> bool:
    """Whether no limit is broken. The last one broken comes first the next time: it mostly decides
    again, and then nothing else need be read."""
    for place, limit in enumerate(in_turn):
        if limits.broken(limit, family, at):
            in_turn.insert(0, in_turn.pop(place))
            return False
    return True


def size(family: Family, discrete: bool = False) -> int:
    """How many legal configurations there are, number axes counted at their break points.

    `discrete`: lengths and diameters count once, where any of their answers is legal.
    """
    total = 1
    for group in space.groups(family):
        held = [limit for limit in family.limits if space.reads(family, limit) & group]
        total *= _size_of(family, sorted(group), held, discrete)
    return total


def _size_of(family: Family, group: Iterable[str], held: list[Limit], discrete: bool) -> int:
    names = [name for name in (SHAPE, *family.axes) if name in set(group)]
    evaluate = partial(_counted, family, names, held, discrete)
    return sum(count for _, count in each(family, evaluate, {JOB: "new"}, every=True))


def _counted(
    family: Family,
    names: Sequence[str],
    held: list[Limit],
    discrete: bool,
    at: Asker,
    found: Answers,
) -> int:
    """How many configurations of a group agree with one evaluation of its limits."""
    if discrete:
        names = [name for name in names if not space.continuous(family, name)]
        if not _any(family, held, found):
            return 0
    elif any(limits.broken(limit, family, at) for limit in held):
        return 0
    reader = Inner({}, found) if discrete else found
    counts = {name: len(reader.possible(name)) for name in names}
    return math.prod(count for name, count in counts.items() if name not in found.chosen)


def _any(family: Family, held: list[Limit], outer: Answers) -> bool:
    """Whether any lengths and diameters keep the limits, the other answers being `outer`'s."""
    waiting: list[Chosen] = [{}]
    while waiting:
        start = waiting.pop()
        inner = Inner(start, outer)
        if not any(limits.broken(limit, family, Asker(inner)) for limit in held):
            return True
        before = dict(start)
        for name, values in inner.open:
            waiting += [{**before, name: value} for value in values[1:]]
            before[name] = values[0]
    return False


class Inner(Answers):
    """Answers of which only lengths and diameters are its own; the others are those of `outer`."""

    __slots__ = ("outer",)

    def __init__(self, given: Chosen, outer: Answers) -> None:
        super().__init__(outer.family, given, outer.jobs, outer.shapes)
        self.outer = outer

    def answer(self, name: str) -> Value | Shape:
        """Its own for a length or diameter, else the outer one."""
        if space.continuous(self.family, name):
            return super().answer(name)
        return self.outer.answer(name)
