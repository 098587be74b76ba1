"""The space of configurations of a family: its shapes, what hangs together in it, one by chance."""

import itertools
import random
from collections.abc import Mapping, Sequence
from functools import lru_cache, partial

from kitting.plan import breakpoints, limits, outline
from kitting.plan.conditions import holds
from kitting.plan.family import Family
from kitting.plan.limits import Limit
from kitting.plan.site import HEIGHT, SHAPE, SHAPE_NAMES, Site, Value

Shape = tuple[int, ...]
Chosen = Mapping[str, Value | Shape]
"""Axis -> answer (None where not asked); SHAPE -> modules of each stack."""


@lru_cache(maxsize=64)
def shapes(family: Family) -> tuple[Shape, ...]:
    """Every row of stacks within the bounds, the smallest first."""
    stacks, modules = family.bounds.stacks, family.bounds.modules
    each = range(modules[0], modules[1] + 1)
    found = (
        shape
        for count in range(stacks[0], stacks[1] + 1)
        for shape in itertools.product(each, repeat=count)
    )
    return tuple(sorted(found, key=lambda shape: (sum(shape), shape)))


def parents(family: Family, name: str) -> set[str]:
    """What decides whether a question arises and which of its answers are walked, however far
    back."""
    if name == SHAPE:
        return set()
    found: set[str] = set()
    read = {condition.name for condition in family.axes[name].when}
    for one in {*read, *breakpoints.hangs_on(family, name)}:
        parent = SHAPE if one in SHAPE_NAMES else one
        if parent == SHAPE or parent in family.axes:
            found |= {parent} | parents(family, parent)
    return found


def continuous(family: Family, name: str) -> bool:
    """Whether a question asks for a length or diameter."""
    return name in family.axes and breakpoints.continuous(family.axes[name])


def asked(family: Family, name: str, chosen: Chosen) -> bool:
    """Whether a question arises, given the answers before it."""
    when = family.axes[name].when
    return not when or holds(when, site(family, chosen, filled=False))


def site(family: Family, chosen: Chosen, job: str = "new", filled: bool = True) -> Site:
    """A site with the chosen answers; the others get the first answer where they are asked."""
    shape = chosen[SHAPE]
    assert isinstance(shape, tuple)
    found: dict[str, Value] = {}
    for name in family.axes if filled else ():
        if name in chosen:
            found[name] = _plain(chosen[name])
        else:
            when = family.axes[name].when
            arises = not when or holds(when, Site(shape, found, job))
            first = family.axes[name].values or (family.axes[name].low,)
            found[name] = first[0] if arises else None
    if not filled:
        found = {name: _plain(value) for name, value in chosen.items() if name != SHAPE}
    return Site(shape, found, job, partial(outline.height, family))


def _plain(value: Value | Shape) -> Value:
    assert not isinstance(value, tuple)
    return value


def reads(family: Family, limit: Limit) -> set[str]:
    """The questions a limit hangs on."""
    names = limit.names()
    counted = limit.measure in (*limits.PER_STACK, *limits.OF_SYSTEM)
    shape = counted or names & {*SHAPE_NAMES, HEIGHT}
    found = {SHAPE} if shape else set()
    found |= names & family.axes.keys()
    if names & {HEIGHT, "stack_mass", "total_mass", "units"}:
        for form in family.shapes:
            found |= {c.name for c in form.when if c.name in family.axes}
    return found


def legal(family: Family, at: Site, held: Sequence[Limit]) -> bool:
    """Whether a site keeps the limits given."""
    return not any(limits.broken(limit, family, at) for limit in held)


def groups(family: Family) -> list[set[str]]:
    """Questions that decide about each other, by limits or by being asked."""
    groups = [{SHAPE}, *({name} for name in family.axes)]
    tied = [{name, *parents(family, name)} for name in family.axes]
    for limit in family.limits:
        held = reads(family, limit)
        tied.append(held.union(*(parents(family, name) for name in held)))
    for tie in tied:
        joined = [group for group in groups if group & tie]
        groups = [group for group in groups if not group & tie]
        groups.append(set().union(*joined))
    return groups


def by_chance(family: Family, seed: int, shape: Shape | None = None) -> dict[str, object]:
    """A legal configuration drawn by a seeded chance, as JSON data; with a shape, only that one is
    drawn."""
    draw = random.Random(seed)  # noqa: S311 - chance for tests and benches, not for secrets
    while True:
        chosen: dict[str, Value | Shape] = {SHAPE: shape or draw.choice(shapes(family))}
        for name, axis in family.axes.items():
            chosen[name] = None
            if asked(family, name, chosen):
                choice = axis.kind == "choice"
                chosen[name] = (
                    draw.choice(axis.values) if choice else draw.randint(axis.low, axis.high)
                )
        if legal(family, site(family, chosen), family.limits):
            return as_json(family, chosen)


def as_json(family: Family, chosen: Chosen, job: str = "new") -> dict[str, object]:
    """The chosen answers as a configuration file."""
    at = site(family, chosen, job)
    told = {name: at.answers[name] for name in family.axes if at.answers[name] is not None}
    stacks = [{"modules": modules} for modules in at.shape]
    return {"family": family.name, "job": job, "stacks": stacks, **told}
