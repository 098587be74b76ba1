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

from kitting.plan import outline, rules
from kitting.plan.axes import Axis
from kitting.plan.conditions import When
from kitting.plan.family import Family
from kitting.plan.given import Carried, Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import LARGEST
from kitting.plan.rules import Rule
from kitting.plan.site import HEIGHT

Only = tuple[tuple[str, tuple[str, ...]], ...]
"""(choice, some of its answers), each choice once, by name: all must hold."""


class Edge(NamedTuple):
    """Where factor x axis + ... reaches the value; something may change there."""

    terms: tuple[tuple[str, int], ...]
    """(axis, factor), each axis once, by name; no factor is 0."""
    value: int
    only: Only = ()
    """Where it matters at all: in concrete, say."""
    slack: int = 1
    """How far beside the value the change may lie: more where edges that cast it leave more."""

    def others(self, name: str) -> tuple[str, ...]:
        """Its axes but one."""
        return tuple(axis for axis, _ in self.terms if axis != name)

    def at(self, name: str, known: Mapping[str, int]) -> range:
        """The axis's answers on the edge and beside it, where the other ones are known."""
        rest = sum(factor * known[axis] for axis, factor in self.terms if axis != name)
        by, on = dict(self.terms)[name], self.value - rest
        on, by = (on, by) if by > 0 else (-on, -by)
        return range((on - self.slack) // by, (on + self.slack - 1) // by + 2)

    def matters(self, known: Mapping[str, object]) -> bool:
        """Whether what is known leaves room for it."""
        return all(known.get(name, some[0]) in some for name, some in self.only)


class Held(NamedTuple):
    """The edges of one length or diameter on which it is the one asked last."""

    alone: tuple[Edge, ...]
    hanging: tuple[Edge, ...]
    """Over earlier axes too."""
    names: tuple[str, ...]
    """Choices that they rest on."""


def continuous(axis: Axis) -> bool:
    """Whether it is walked at its break points instead of each answer."""
    return axis.kind in ("length", "diameter")


def walked(
    family: Family,
    axis: Axis,
    answer: Callable[[str], object] | None = None,
    read: Mapping[str, object] | None = None,
) -> tuple[int | str, ...]:
    """The answers to walk: all of a choice or whole number; else the bounds and each figure, just
    below, on, just above. `answer`: those of earlier axes, asked where a figure hangs on them.
    `read`: what has been answered so far; a figure for concrete is nothing to brick."""
    if axis.kind == "choice":
        return axis.values
    if axis.kind == "whole":
        return tuple(range(axis.low, axis.high + 1))
    names = _held(family)[axis.name].names if read else ()
    told = tuple((name, read[name]) for name in names if name in read) if read else ()
    fixed, hanging = _mattering(family, axis.name, told)
    if answer is None or not hanging:
        return fixed
    return _values(axis, hanging, answer, fixed)


def stepped_over(family: Family) -> Iterator[str]:
    """The figures over several lengths of which the walk could pass over a whole number, in words:
    those that take their last axis more than once, where they lie within the bounds. Where each
    takes it once, elimination is exact in whole numbers."""
    for edge in edges(family):
        last = _last(family, edge)
        if len(edge.terms) > 1 and abs(dict(edge.terms)[last]) > 1 and _inside(family, edge):
            figure = " + ".join(f"{factor} x {name}" for name, factor in edge.terms)
            yield f"{figure} = {edge.value} takes {last} more than once"


def _inside(family: Family, edge: Edge) -> bool:
    """Whether some answers lie on the edge or beside it."""
    reach = []
    for name, factor in edge.terms:
        axis = family.axes[name]
        low = min(axis.low, 0) if axis.when else axis.low
        reach.append(sorted((factor * low, factor * axis.high)))
    least, most = sum(low for low, _ in reach), sum(high for _, high in reach)
    return least - edge.slack <= edge.value <= most + edge.slack


def hangs_on(family: Family, name: str) -> set[str]:
    """The earlier axes whose answers decide where this one is walked."""
    return {other for edge in _held(family)[name].hanging for other in edge.others(name)}


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
    axis: Axis, figures: Iterable[range], fixed: Sequence[int | str] = ()
) -> tuple[int | str, ...]:
    beside = {value for figure in figures for value in figure}
    inside = {value for value in beside if axis.low <= value <= axis.high}
    return tuple(sorted({axis.low, axis.high, *inside, *(v for v in fixed if isinstance(v, int))}))


@lru_cache(maxsize=4096)
def _mattering(
    family: Family, name: str, told: tuple[tuple[str, object], ...]
) -> tuple[tuple[int | str, ...], tuple[Edge, ...]]:
    """The answers to walk whatever the earlier ones are, and the edges that hang on those."""
    held, known = _held(family)[name], dict(told)
    alone = (edge.at(name, {}) for edge in held.alone if edge.matters(known))
    hanging = tuple(edge for edge in held.hanging if edge.matters(known))
    return _beside(family.axes[name], alone), hanging


@lru_cache(maxsize=256)
def _held(family: Family) -> dict[str, Held]:
    """The edges by the axis that is asked last of theirs."""
    found: dict[str, list[Edge]] = {name: [] for name in family.axes}
    for edge in edges(family):
        found[_last(family, edge)].append(edge)
    return {
        name: Held(
            tuple(edge for edge in mine if len(edge.terms) == 1),
            tuple(edge for edge in mine if len(edge.terms) > 1),
            tuple(sorted({choice for edge in mine for choice, _ in edge.only})),
        )
        for name, mine in found.items()
    }


@lru_cache(maxsize=256)
def edges(family: Family) -> tuple[Edge, ...]:
    """Every edge of the family, and those that others cast on the axes asked before."""
    found = {
        _edge(figure.terms, threshold.value - figure.fixed, both)
        for threshold, only, rule in _of_family(family)
        if abs(threshold.value) < LARGEST
        for figure, under in _over_axes(family, threshold.figure, rule)
        if (both := _both(only, under)) is not None
    }
    last: dict[str, set[Edge]] = {name: set() for name in family.axes}
    _sort_in(family, found, last)
    for name, axis in reversed(list(family.axes.items())):
        mine = list(last[name])
        several = [edge for edge in mine if len(edge.terms) > 1]
        if several:
            bounds = [Edge(((name, 1),), end, (), 0) for end in (axis.low, axis.high)]
            if axis.when:
                bounds.append(Edge(((name, 1),), 0, (), 0))  # not asked: it counts as nothing
            pairs = itertools.product(several, [*mine, *bounds])
            cast = {
                _cast(name, one, other, both)
                for one, other in pairs
                if (both := _both(one.only, other.only)) is not None
            }
            _sort_in(family, cast, last)
    return tuple(sorted(edge for some in last.values() for edge in some))


def _sort_in(family: Family, some: Iterable[Edge], last: Mapping[str, set[Edge]]) -> None:
    """Adds edges to those of the axis that is asked last of theirs; one over none is nothing."""
    for edge in some:
        if edge.terms:
            last[_last(family, edge)].add(edge)


@lru_cache(maxsize=256)
def _turns(family: Family) -> dict[str, int]:
    """Axis -> its turn to be asked."""
    return {name: turn for turn, name in enumerate(family.axes)}


def _last(family: Family, edge: Edge) -> str:
    """Its axis that is asked last."""
    turns = _turns(family)
    return max((name for name, _ in edge.terms), key=turns.__getitem__)


def _edge(terms: Iterable[tuple[str, int]], value: int, only: Only, slack: int = 1) -> Edge:
    total: dict[str, int] = {}
    for name, factor in terms:
        total[name] = total.get(name, 0) + factor
    return Edge(tuple(sorted((n, f) for n, f in total.items() if f)), value, only, slack)


def _cast(name: str, one: Edge, other: Edge, only: Only) -> Edge:
    """Where two edges meet, seen without one axis."""
    by, of = dict(other.terms)[name], dict(one.terms)[name]
    terms = [(axis, by * factor) for axis, factor in one.terms if axis != name]
    terms += [(axis, -of * factor) for axis, factor in other.terms if axis != name]
    slack = abs(by) * one.slack + abs(of) * other.slack
    return _edge(terms, by * one.value - of * other.value, only, slack)


def _both(one: Only, other: Only) -> Only | None:
    """What two edges rest on together; None where both are never there."""
    if not one or not other:
        return one or other
    found = dict(one)
    for name, some in other:
        found[name] = tuple(value for value in found.get(name, some) if value in some)
        if not found[name]:
            return None
    return tuple(sorted(found.items()))


def _choices(family: Family, when: When) -> Only | None:
    """The choices of a condition; None where they never hold together."""
    found: Only | None = ()
    for condition in when:
        axis = family.axes.get(condition.name)
        if axis is not None and axis.kind == "choice" and found is not None:
            some = tuple(value for value in axis.values if value in condition.allowed)
            found = _both(found, ((condition.name, some),)) if some else None
    return found


def _of_family(family: Family) -> Iterator[tuple[Threshold, Only, str]]:
    """Every threshold with the choices under which alone it matters, and its rule where it has
    one."""
    for threshold, when, rule in _told(family):
        only = _choices(family, (*when, *threshold.when))
        if only is not None:
            yield threshold, only, rule


def _told(family: Family) -> Iterator[tuple[Threshold, When, str]]:
    for rule in family.rules:
        found = [*rule.counting.thresholds(family.book), *_of_when(rule.when)]
        yield from ((threshold, rule.when, rule.name) for threshold in found)
    for limit in family.limits:
        figure = Linear(0, ((limit.measure, 1),))
        found = [Threshold(figure, value) for value in (limit.low, limit.high)]
        yield from ((threshold, limit.when, "") for threshold in (*found, *_of_when(limit.when)))
    whens = [axis.when for axis in family.axes.values()]
    whens += [shape.when for shape in family.shapes]
    whens += [bus.when for bus in family.buses] + [run.when for run in family.runs]
    for when in whens:
        yield from ((threshold, when, "") for threshold in _of_when(when))
    for hole in family.holes:
        taken = sum(run.entries for run in family.runs if run.hole == hole.name)
        taken += sum(entry.hole == hole.name for entry in family.entries)
        used = range(taken * family.bounds.stacks[1] + 1)
        yield from ((Threshold(hole.count, number), (), "") for number in used)


def _of_when(when: When) -> Iterator[Threshold]:
    for condition in when:
        figure = Linear(0, ((condition.name, 1),))
        values: Iterable[int | str] = condition.allowed or (condition.low, condition.high)
        yield from (Threshold(figure, value) for value in values if isinstance(value, int))


def _over_axes(family: Family, figure: Linear, rule: str | None) -> Iterator[tuple[Linear, Only]]:
    """A figure of a rule in terms of lengths and diameters alone: for every number that its other
    names can stand for, and every figure that a need can carry under them; and where it is so."""
    parts = [
        [(_times(factor, one), under) for one, under in _stands_for(family, name, rule)]
        for name, factor in figure.terms
    ]
    for chosen in itertools.product(*parts):
        terms = tuple(term for one, _ in chosen for term in one.terms)
        only: Only | None = ()
        for _, under in chosen:
            only = None if only is None else _both(only, under)
        if only is not None:
            yield Linear(figure.fixed + sum(one.fixed for one, _ in chosen), terms), only


def _times(factor: int, figure: Linear) -> Linear:
    if factor == 1:
        return figure
    return Linear(factor * figure.fixed, tuple((n, factor * f) for n, f in figure.terms))


@lru_cache(maxsize=4096)
def _stands_for(family: Family, name: str, rule: str | None) -> tuple[tuple[Linear, Only], ...]:
    """Whatever a name can stand for."""
    axis = family.axes.get(name)
    if axis is not None and continuous(axis):
        return ((Linear(0, ((name, 1),)), ()),)
    plain: set[tuple[Linear, Only]] = {(Linear(number), ()) for number in _extent(family, name)}
    for figure, when, giver in _carried(family, name, rule) if rule is not None else ():
        only = _choices(family, when)
        for one, under in _over_axes(family, figure, giver) if only is not None else ():
            both = _both(only or (), under)
            plain |= {(one, both)} if both is not None else set()
    return tuple(sorted(plain, key=lambda found: (found[0].fixed, found[0].terms, found[1])))


def _carried(family: Family, name: str, rule: str) -> Iterator[tuple[Linear, When, str | None]]:
    """The figures that a need which the rule meets may carry under a name, and when."""
    for run in family.runs:
        if name == "length":
            yield run.length, run.when, None
        elif name == "diameter" and run.diameter:
            axis = run.diameter
            yield Linear(axis) if isinstance(axis, int) else Linear(0, ((axis, 1),)), run.when, None
    for giver, one in _handed_on(family).get(name, ()):
        starts = frozenset((raised.need, raised.of) for raised in one.raises)
        if not rule or rule in _below(family, starts):
            yield one.figure, (*giver.when, *one.when), giver.name


@lru_cache(maxsize=256)
def _handed_on(family: Family) -> dict[str, list[tuple[Rule, Carried]]]:
    """Name -> the figures that rules hand on under it to the needs raised."""
    found: dict[str, list[tuple[Rule, Carried]]] = {}
    for giver in family.rules:
        carried = getattr(giver.counting, "carried", None)
        for name, some in carried(family.book).items() if carried is not None else ():
            found.setdefault(name, []).extend((giver, one) for one in some)
    return found


@lru_cache(maxsize=1024)
def _below(family: Family, starts: frozenset[tuple[str, str]]) -> frozenset[str]:
    """The rules that may meet some needs, or what is raised in meeting them."""
    seen, waiting, found = set(starts), list(starts), set()
    while waiting:
        for _, rule in family.rules_for(*waiting.pop()):
            found.add(rule.name)
            more = set(rules.raised(rule, family.book)) - seen
            seen |= more
            waiting += more
    return frozenset(found)


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
        case "cables":
            return range(max((len(entry.runs) for entry in family.entries), default=0) + 1)
        case "core" | "strands":
            copper = [item.conductor for item in family.items.values() if item.conductor]
            return {one.core if name == "core" else one.stranding for one in copper} | {0}
    if name == HEIGHT:
        return outline.heights(family)
    axis = family.axes.get(name)
    if axis is None or axis.kind == "choice":
        return (0,)
    return range(0 if axis.when else axis.low, axis.high + 1)
