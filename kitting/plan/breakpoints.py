"""Where the outcome of a family may change along a number axis: collected from its rules, limits
and conditions."""

import itertools
from collections.abc import Iterable, Iterator
from functools import lru_cache

from kitting.plan import outline
from kitting.plan.axes import Axis
from kitting.plan.conditions import When
from kitting.plan.family import Family
from kitting.plan.given import Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import LARGEST
from kitting.plan.site import HEIGHT


@lru_cache(maxsize=64)
def thresholds(family: Family) -> dict[str, tuple[int, ...]]:
    """Number axis -> the figures at which something may change, within its bounds."""
    found: dict[str, set[int]] = {name: set() for name, axis in family.axes.items() if axis.high}
    for threshold in _of_family(family):
        for figure in _carried(family, threshold.figure):
            for name, value in _solved(family, figure, threshold.value):
                if name in found:
                    found[name].add(value)
    return {
        name: tuple(sorted(v for v in values if within(family.axes[name], v)))
        for name, values in found.items()
    }


def within(axis: Axis, value: int) -> bool:
    """Whether a value lies in the bounds of an axis or just beside them."""
    return axis.low - 1 <= value <= axis.high + 1


def walked(family: Family, axis: Axis) -> tuple[int | str, ...]:
    """The answers to walk: all of a choice or whole number; else the bounds and each figure, just
    below, on, just above."""
    if axis.kind == "choice":
        return axis.values
    if axis.kind == "whole":
        return tuple(range(axis.low, axis.high + 1))
    beside = {figure + d for figure in thresholds(family)[axis.name] for d in (-1, 0, 1)}
    inside = {value for value in beside if axis.low <= value <= axis.high}
    return tuple(sorted(inside | {axis.low, axis.high}))


def stretches(family: Family, name: str) -> Iterator[tuple[str, str, int | str]]:
    """(first, last, a value within) of every stretch between two walked values; a choice is its
    own."""
    axis = family.axes[name]
    values = walked(family, axis)
    for value, following in itertools.zip_longest(values, values[1:]):
        last = following - 1 if isinstance(following, int) and axis.kind != "choice" else value
        yield str(value), str(last), value


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


def _of_when(when: When) -> Iterator[Threshold]:
    for condition in when:
        figure = Linear(0, ((condition.name, 1),))
        values: Iterable[int | str] = condition.allowed or (condition.low, condition.high)
        yield from (Threshold(figure, value) for value in values if isinstance(value, int))


def _carried(family: Family, figure: Linear) -> Iterator[Linear]:
    """A figure over what runs carry (length, diameter), put in terms of the axes."""
    yield figure
    for run in family.runs:
        terms: list[tuple[str, int]] = []
        fixed = figure.fixed
        for name, factor in figure.terms:
            if name == "length":
                fixed += factor * run.length.fixed
                terms += [(inner, factor * by) for inner, by in run.length.terms]
            elif name == "diameter" and isinstance(run.diameter, str):
                terms.append((run.diameter, factor))
            else:
                terms.append((name, factor))
        if tuple(terms) != figure.terms:
            yield Linear(fixed, tuple(terms))


def _solved(family: Family, figure: Linear, value: int) -> Iterator[tuple[str, int]]:
    """For each name of a figure: where it crosses the value, for every shape and bound of the
    others."""
    if abs(value) >= LARGEST:
        return
    for name, factor in figure.terms:
        others = [term for term in figure.terms if term[0] != name]
        for chosen in itertools.product(*(_extent(family, other) for other, _ in others)):
            rest = figure.fixed + sum(
                by * number for (_, by), number in zip(others, chosen, strict=True)
            )
            if factor:
                yield name, (value - rest) // factor


def _extent(family: Family, name: str) -> Iterable[int]:
    """What the other names of a figure may be: every number of stacks and modules; bounds of an
    axis."""
    stacks, modules = family.bounds.stacks, family.bounds.modules
    match name:
        case "stacks" | "stack":
            return range(1, stacks[1] + 1)
        case "modules":
            return range(modules[0], modules[1] + 1)
        case "total_modules":
            return range(stacks[0] * modules[0], stacks[1] * modules[1] + 1)
    if name == HEIGHT:
        return outline.heights(family)
    axis = family.axes.get(name)
    return (axis.low, axis.high) if axis is not None else (0,)
