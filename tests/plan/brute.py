"""The faults of a family by plain enumeration: every job, every row of stacks, every answer of
every question, each whole number of each number axis. It knows nothing of break points, nor of what
a rule reads. Only for families narrowed to a few answers."""

import dataclasses
import itertools
from functools import partial

from kitting.plan import configuration, limits, outline, swap
from kitting.plan.conditions import holds
from kitting.plan.family import Bounds
from kitting.plan.meeting import Met, meet, needs
from kitting.plan.site import Site
from kitting.plan.steps import JOBS


def narrowed(known, stacks=(1, 1), modules=(1, 1), **axes):
    """The family within fewer stacks and answers: (least, most) of a number, a tuple of texts."""
    narrow = dict(known.axes)
    for name, given in axes.items():
        axis = known.axes[name]
        low, high = given if axis.kind != "choice" else (0, 0)
        values = given if axis.kind == "choice" else ()
        narrow[name] = dataclasses.replace(axis, low=low, high=high, values=values)
    bounds = Bounds(stacks, modules)
    return dataclasses.replace(known, axes=narrow, bounds=bounds, meeting={})


def sites(known, job):
    """Every site that keeps the limits."""
    least, most = known.bounds.modules
    for count in range(known.bounds.stacks[0], known.bounds.stacks[1] + 1):
        for shape in itertools.product(range(least, most + 1), repeat=count):
            for answers in _answers(known, shape, job, {}, list(known.axes)):
                site = Site(shape, answers, job, partial(outline.height, known))
                if not any(limits.broken(limit, known, site) for limit in known.limits):
                    yield site


def _answers(known, shape, job, found, left):
    if not left:
        yield found
        return
    axis = known.axes[left[0]]
    values = axis.values or range(axis.low, axis.high + 1)
    if axis.when and not holds(axis.when, Site(shape, found, job)):
        values = (None,)
    for value in values:
        yield from _answers(known, shape, job, {**found, axis.name: value}, left[1:])


def faults(known):
    """(kind, rule, part) of every fault; idle rules where there is no other."""
    found, used = set(), set()
    for job in JOBS:
        for site in sites(known, job):
            met = Met()
            meet(known, site, needs(known, site, job, met), met)
            used |= {rule.name for _, rule in met.answered}
            for problem in _of_swap(known, site, met) if job == "swap" else met.problems:
                part = problem.demand.of if problem.demand is not None else ""
                found.add((problem.kind, problem.rule, part))
    idle = {("idle", rule.name, "") for rule in known.rules if rule.name not in used}
    return found or idle


def _of_swap(known, site, met):
    """What a swap of every unit comes across."""
    if not met.problems:
        return []
    given = {name: value for name, value in site.answers.items() if name in known.axes}
    told = {name: value for name, value in given.items() if value is not None}
    stacks = [{"modules": modules} for modules in site.shape]
    plain = {"family": known.name, "job": "swap", "stacks": stacks, **told}
    places = [
        {"stack": stack, "level": level}
        for stack, modules in enumerate(site.shape, 1)
        for level in range(1, modules + 2)
    ]
    first = configuration.parse({**plain, "swap": places[:1]}, known)
    there = [p for p in places if swap.item_at(known, first, p["stack"], p["level"])]
    data = configuration.parse({**plain, "swap": there}, known)
    return swap.concerned(known, data, met).problems


def size(known):
    """(legal configurations of a new job, how many differ in more than lengths and diameters)."""
    found = [
        site.shape + tuple(site.answers[n] for n in known.axes) for site in sites(known, "new")
    ]
    fine = [n for n, axis in known.axes.items() if axis.kind in ("choice", "whole")]
    coarse = {
        site.shape + tuple(site.answers[name] for name in fine) for site in sites(known, "new")
    }
    return len(found), len(coarse)
