"""Where the outcome of a family may change along a number axis: collected from its rules, limits
and conditions.

A threshold over one axis is one figure on it. A threshold over several (a path of gap + run) lies
on the later axis at a figure that hangs on the earlier answers; and on the earlier axis wherever
two such figures of the later one change places (elimination as of Fourier and Motzkin). So every
combination of sides that the thresholds allow is walked.
"""

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from kitting.plan import outline
from kitting.plan.axes import Axis
from kitting.plan.conditions import When
from kitting.plan.family import Family
from kitting.plan.given import Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import LARGEST
from kitting.plan.site import HEIGHT

DEEPEST = 4
"""How often a carried figure may stand for another carried one."""


class Edge(NamedTuple):
    """Where factor x axis + ... reaches the value; something may change there."""

    terms: tuple[tuple[str, int], ...]
    """(axis, factor), each axis once, by name; no factor is 0."""
    value: int

    def others(self, name: str) -> tuple[str, ...]:
        """Its axes but one."""
        return tuple(axis for axis, _ in self.terms if axis != name)

    def at(self, name: str, known: Mapping[str, int]) -> int:
        """The axis's answer on the edge, rounded down, where the other ones are known."""
        rest = sum(factor * known[axis] for axis, factor in self.terms if axis != name)
        return (self.value - rest) // dict(self.terms)[name]


def continuous(axis: Axis) -> bool:
    """Whether it is walked at its break points instead of each answer."""
    return axis.kind in ("length", "diameter")


def walked(
    family: Family, axis: Axis, answer: Callable[[str], object] | None = None
) -> tuple[int | str, ...]:
    """The answers to walk: all of a choice or whole number; else the bounds and each figure, just
    below, on, just above. `answer`: those of earlier axes, asked where a figure hangs on them."""
    if axis.kind == "choice":
        return axis.values
    if axis.kind == "whole":
        return tuple(range(axis.low, axis.high + 1))
    fixed, hanging = _alone(family)[axis.name], _hanging(family)[axis.name]
    if answer is None or not hanging:
        return fixed
    return _values(axis, hanging, answer, fixed)


def hangs_on(family: Family, name: str) -> set[str]:
    """The earlier axes whose answers decide where this one is walked."""
    return {other for edge in _hanging(family)[name] for other in edge.others(name)}


def stretches(
    family: Family, name: str, answers: Mapping[str, object]
) -> Iterator[tuple[str, str, int | str]]:
    """(first, last, a value within) of every stretch between two walked values, the other answers
    being as they are; a choice is its own."""
    axis = family.axes[name]
    values = walked(family, axis)
    if continuous(axis):
        mine = [edge for edge in edges(family) if edge.others(name) and name in dict(edge.terms)]
        values = _values(axis, mine, answers.get, values)
    for value, following in itertools.zip_longest(values, values[1:]):
        last = following - 1 if isinstance(following, int) and axis.kind != "choice" else value
        yield str(value), str(last), value


def _values(
    axis: Axis,
    found: Sequence[Edge],
    answer: Callable[[str], object],
    fixed: Sequence[int | str],
) -> tuple[int | str, ...]:
    names = dict.fromkeys(name for edge in found for name in edge.others(axis.name))
    told = {name: answer(name) for name in names}
    known = {name: value if isinstance(value, int) else 0 for name, value in told.items()}
    return _beside(axis, (edge.at(axis.name, known) for edge in found), fixed)


def _beside(
    axis: Axis, figures: Iterable[int], fixed: Sequence[int | str] = ()
) -> tuple[int | str, ...]:
    beside = {figure + d for figure in figures for d in (-1, 0, 1)}
    inside = {value for value in beside if axis.low <= value <= axis.high}
    return tuple(sorted({axis.low, axis.high, *inside, *(v for v in fixed if isinstance(v, int))}))


@lru_cache(maxsize=256)
def _alone(family: Family) -> dict[str, tuple[int | str, ...]]:
    """Length or diameter -> the answers to walk whatever the other answers are."""
    found: dict[str, list[int]] = {n: [] for n, axis in family.axes.items() if continuous(axis)}
    for edge in edges(family):
        if len(edge.terms) == 1:
            name = edge.terms[0][0]
            found[name].append(edge.at(name, {}))
    return {name: _beside(family.axes[name], figures) for name, figures in found.items()}


@lru_cache(maxsize=256)
def _hanging(family: Family) -> dict[str, tuple[Edge, ...]]:
    """Length or diameter -> edges over several axes on which it is the one asked last."""
    found: dict[str, list[Edge]] = {name: [] for name in family.axes}
    for edge in edges(family):
        if len(edge.terms) > 1:
            found[_last(family, edge)].append(edge)
    return {name: tuple(held) for name, held in found.items()}


@lru_cache(maxsize=256)
def edges(family: Family) -> tuple[Edge, ...]:
    """Every edge of the family, and those that others cast on the axes asked before."""
    found = {
        _edge(figure.terms, threshold.value - figure.fixed)
        for threshold in _of_family(family)
        if abs(threshold.value) < LARGEST
        for figure in _over_axes(family, threshold.figure, DEEPEST)
    }
    found = {edge for edge in found if edge.terms}
    for name, axis in reversed(list(family.axes.items())):
        mine = [edge for edge in found if _last(family, edge) == name]
        several = [edge for edge in mine if len(edge.terms) > 1]
        if several:
            bounds = [Edge(((name, 1),), axis.low), Edge(((name, 1),), axis.high)]
            if axis.when:
                bounds.append(Edge(((name, 1),), 0))  # not asked: it counts as nothing
            pairs = itertools.product(several, [*mine, *bounds])
            cast = {_cast(name, one, other) for one, other in pairs}
            found |= {edge for edge in cast if edge.terms}
    return tuple(sorted(found))


def _last(family: Family, edge: Edge) -> str:
    """Its axis that is asked last."""
    names = {name for name, _ in edge.terms}
    return next(name for name in reversed(list(family.axes)) if name in names)


def _edge(terms: Iterable[tuple[str, int]], value: int) -> Edge:
    total: dict[str, int] = {}
    for name, factor in terms:
        total[name] = total.get(name, 0) + factor
    return Edge(tuple(sorted((n, f) for n, f in total.items() if f)), value)


def _cast(name: str, one: Edge, other: Edge) -> Edge:
    """Where two edges meet, seen without one axis."""
    by, of = dict(other.terms)[name], dict(one.terms)[name]
    terms = [(axis, by * factor) for axis, factor in one.terms if axis != name]
    terms += [(axis, -of * factor) for axis, factor in other.terms if axis != name]
    return _edge(terms, by * one.value - of * other.value)


def _of_family(family: Family) -> Iterator[Threshold]:
    for rule in family.rules:
        yield from rule.counting.thresholds(family.book)
        yield from _of_when(rule.when)
    for limit in family.limits:
        yield from _of_when(limit.when)
        figure = Linear(0, ((limit.measure, 1),))
        yield from (Threshold(figure, value) for value in (limit.low, limit.high))
    whens = [axis.when for axis in family.axes.values()]
    whens += [shape.when for shape in family.shapes]
    whens += [bus.when for bus in family.buses] + [run.when for run in family.runs]
    for when in whens:
        yield from _of_when(when)
    for hole in family.holes:
        taken = sum(run.entries for run in family.runs if run.hole == hole.name)
        taken += sum(entry.hole == hole.name for entry in family.entries)
        used = range(taken * family.bounds.stacks[1] + 1)
        yield from (Threshold(hole.count, number) for number in used)


def _of_when(when: When) -> Iterator[Threshold]:
    for condition in when:
        figure = Linear(0, ((condition.name, 1),))
        values: Iterable[int | str] = condition.allowed or (condition.low, condition.high)
        yield from (Threshold(figure, value) for value in values if isinstance(value, int))


def _over_axes(family: Family, figure: Linear, deep: int) -> Iterator[Linear]:
    """A figure in terms of lengths and diameters alone: for every number that its other names can
    stand for, and for every figure that a need can carry under them."""
    parts = [_stands_for(family, name, factor, deep) for name, factor in figure.terms]
    for chosen in itertools.product(*parts):
        terms = tuple(term for one in chosen for term in one.terms)
        yield Linear(figure.fixed + sum(one.fixed for one in chosen), terms)


def _stands_for(family: Family, name: str, factor: int, deep: int) -> list[Linear]:
    """factor x whatever a name can stand for."""
    axis = family.axes.get(name)
    if axis is not None and continuous(axis):
        return [Linear(0, ((name, factor),))]
    carried = _carried(family, name) if deep else ()
    plain = {Linear(factor * number) for number in _extent(family, name)}
    for figure in carried:
        inner = Linear(factor * figure.fixed, tuple((n, factor * f) for n, f in figure.terms))
        plain |= set(_over_axes(family, inner, deep - 1))
    return sorted(plain, key=lambda one: (one.fixed, one.terms))


def _carried(family: Family, name: str) -> Iterator[Linear]:
    """The figures that a need may carry under a name."""
    for run in family.runs:
        if name == "length":
            yield run.length
        elif name == "diameter" and run.diameter:
            axis = run.diameter
            yield Linear(axis) if isinstance(axis, int) else Linear(0, ((axis, 1),))
    for rule in family.rules:
        yield from _of_rule(rule.counting, family, name)


def _of_rule(counting: object, family: Family, name: str) -> Iterable[Linear]:
    carried = getattr(counting, "carried", None)
    return () if carried is None else carried(family.book).get(name, ())


def _extent(family: Family, name: str) -> Iterable[int]:
    """Every number that a name may be which no length or diameter decides."""
    stacks, modules = family.bounds.stacks, family.bounds.modules
    match name:
        case "stacks" | "stack":
            return range(stacks[1] + 1)
        case "modules":
            return range(modules[0], modules[1] + 1)
        case "total_modules":
            return range(stacks[0] * modules[0], stacks[1] * modules[1] + 1)
    if name == HEIGHT:
        return outline.heights(family)
    axis = family.axes.get(name)
    if axis is None or axis.kind == "choice":
        return (0,)
    return range(0 if axis.when else axis.low, axis.high + 1)
