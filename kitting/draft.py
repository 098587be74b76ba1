"""A plan while it is made: the drawing, the short list, and each limit at the field it breaks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from django.conf import settings

from kitting.drawing import Drawing, drawing_of_plan
from kitting.forms import PREFIX, JobForm
from kitting.plan import configuration as configurations
from kitting.plan import kit as plan
from kitting.plan import limits, local_rules
from kitting.plan.axes import Axis
from kitting.plan.configuration import Configuration
from kitting.plan.errors import ConfigurationError
from kitting.plan.family import Family
from kitting.plan.kit import Kit
from kitting.plan.lines import Line
from kitting.plan.site import UnknownInput
from kitting.planning import Remembered
from kitting.questions import base_units, modules_of, refusal, said

DRAWN = (8, 14)  # most stacks and modules that a draft draws; beyond, a slip of the hand
MASSES = ("stack_mass", "total_mass")
FIGURES = re.compile(r"(?<=at most )-?\d+|(?<=at least )-?\d+|(?<=, got )-?\d+")
IN_GRAMS = re.compile(r"\s*\(g\)")
PER_KG = {"piece": 1_000, "mm": 1_000_000, "ul": 1_000_000_000, "mm2": 1_000_000_000}


@dataclass(frozen=True, slots=True)
class Summary:
    """The short list of a kit that could be packed as it is."""

    lines: int
    pieces: int  # things counted one by one
    grams: int  # of all that is on the list
    heaviest: Line | None  # the heaviest single thing
    heaviest_grams: int
    units: tuple[Line, ...]  # what has a serial
    steps: tuple[tuple[str, int], ...]  # title, lines
    open: tuple[str, ...]  # questions still unknown, and checks a person signs


@dataclass(frozen=True, slots=True)
class Draft:
    """What can be said of the plan now."""

    drawing: Drawing | None = None
    summary: Summary | None = None  # None until all is answered and nothing is broken
    left: tuple[tuple[str, str], ...] = ()  # unanswered: field name, question
    says: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # field -> what is against it
    notes: Mapping[str, str] = field(default_factory=dict)  # field -> how a length was read
    taken_over: tuple[str, ...] = ()  # jobs some of whose answers stand here again
    broken: tuple[str, ...] = ()  # every reason against the whole, once


def of(form: JobForm, known: Mapping[str, Remembered]) -> Draft:
    """Judge what a form holds so far. known: axis -> the earlier answer it was filled from."""
    family = form.chosen
    if family is None:
        return Draft()
    asked = form.asked()
    says = dict(_misread(form, asked))
    counts = _miscounted(form, family)
    says |= counts
    left = tuple(
        (f"{PREFIX}{axis.name}", axis.plain)
        for axis in asked
        if not form.raw(f"{PREFIX}{axis.name}")
    )
    answered = form.answered()
    shape = tuple(stack["modules"] for stack in answered["stacks"])
    if not shape or len(shape) > DRAWN[0] or max(shape) > DRAWN[1]:
        return Draft(says=says, left=left)
    so_far = configurations.so_far(family, form.kind, shape, answered)
    title = f"{family.title}: the stack as planned"
    drawing = drawing_of_plan(family, so_far, "plan", title, _over(family, so_far))
    refused = dict.fromkeys(_broken(family, so_far))
    summary = None
    if not (left or says):
        refused, summary = _worked_out(family, answered)
    for rule, message in refused:
        for name in fields_of(family, rule):
            says[name] = (*says.get(name, ()), message)
    return Draft(
        drawing=drawing,
        summary=summary,
        left=left,
        says=says,
        notes=dict(_notes(form, asked)),
        taken_over=tuple(
            one.job for name, one in known.items() if one.text == form.raw(f"{PREFIX}{name}")
        ),
        broken=tuple(message for _, message in refused),
    )


def _misread(form: JobForm, asked: Iterable[Axis]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Answers that are none."""
    for axis in asked:
        text = form.raw(f"{PREFIX}{axis.name}")
        value = base_units(axis, text)
        if text and (value is None or not axis.accepts(value)):
            yield f"{PREFIX}{axis.name}", (refusal(axis, text),)


def _miscounted(form: JobForm, family: Family) -> dict[str, tuple[str, ...]]:
    """Stacks beyond what the parts list knows."""
    found: dict[str, tuple[str, ...]] = {}
    (few, many), (low, high) = family.bounds.stacks, family.bounds.modules
    for name in ("stacks", "before") if form.kind == "expansion" else ("stacks",):
        text = form.raw(name)
        counts = modules_of(text)
        wrong = [
            f"Stack {number}: expected {low} to {high} modules, got {count}"
            for number, count in enumerate(counts, 1)
            if not low <= count <= high
        ]
        if not few <= len(counts) <= many and counts:
            wrong.append(f"expected {few} to {many} stacks, got {len(counts)}")
        if text and not counts:
            wrong.append(f"expected a number of modules, got {text[:40]!r}")
        if wrong:
            found[name] = tuple(wrong)
    return found


def _broken(family: Family, so_far: Configuration) -> Iterator[tuple[str, str]]:
    """Limits that what is answered breaks already, whatever the rest will be."""
    for limit in family.limits:
        try:
            message = limits.broken(limit, family, so_far.site())
        except UnknownInput:
            continue
        if message:
            yield limit.name, in_words(family, limit.name, message)


def _over(family: Family, so_far: Configuration) -> frozenset[tuple[int, int]]:
    """Places that are beyond a limit or beyond what the parts list knows at all."""
    found: set[tuple[int, int]] = set()
    for limit in family.limits:
        try:
            found |= limits.where(limit, family, so_far.site())
        except UnknownInput:
            continue
    high = family.bounds.modules[1]
    for stack, modules in enumerate(so_far.shape, 1):
        found |= {(stack, level) for level in range(high + 1, modules + 1)}
    many = range(family.bounds.stacks[1] + 1, len(so_far.shape) + 1)
    return frozenset(found | {(stack, 0) for stack in many})


def _worked_out(
    family: Family, answered: Mapping[str, object]
) -> tuple[dict[tuple[str, str], None], Summary | None]:
    """Reasons against a whole configuration, or its short list."""
    try:
        asked = configurations.parse(dict(answered), family)
    except ConfigurationError as error:
        return {(fault.key, fault.message): None for fault in error.faults}, None
    kit = plan.work_out(family, asked)
    if kit.refused:
        told = ((r.rule, in_words(family, r.rule, r.message)) for r in kit.refused)
        return dict.fromkeys(told), None
    return {}, summary_of(family, kit)


def summary_of(family: Family, kit: Kit) -> Summary:
    """The short list of a kit."""
    heaviest = max(kit.lines, key=lambda line: _each(family, line), default=None)
    local = local_rules.at(settings.CODE, family, str(kit.configuration["job"]))
    titles = {step.key: step.title for step in kit.steps}
    steps = dict.fromkeys((line.step for line in kit.lines), 0)
    for line in kit.lines:
        steps[line.step] += 1
    return Summary(
        lines=len(kit.lines),
        pieces=sum(line.quantity for line in kit.lines if line.unit == "piece"),
        grams=sum(_grams(family, line) for line in kit.lines),
        heaviest=heaviest,
        heaviest_grams=_each(family, heaviest) if heaviest else 0,
        units=tuple(line for line in kit.lines if line.tracking == "serial"),
        steps=tuple((titles.get(key, key), number) for key, number in steps.items()),
        open=(
            *(family.axes[u.axis].plain if u.axis else u.question for u in kit.unresolved),
            *(rule.question for rule in local if rule.judged),
        ),
    )


def _grams(family: Family, line: Line) -> int:
    return line.quantity * family.items[line.item].mass_g * 1000 // PER_KG[line.unit]


def _each(family: Family, line: Line) -> int:
    """Grams of one piece; what is cut or poured has none."""
    return family.items[line.item].mass_g if line.unit == "piece" else 0


def fields_of(family: Family, rule: str) -> list[str]:
    """The fields that a broken limit or a fault is about; none for what no one field settles."""
    limit = next((limit for limit in family.limits if limit.name == rule), None)
    if limit is None:
        names = [rule.partition("[")[0].partition(".")[0]]
    elif limit.measure:
        names = [limit.measure if limit.measure in family.axes else "stacks"]
    else:
        names = [condition.name for condition in limit.when]
    shape = {"stacks", "modules", "total_modules"}
    found = [
        f"{PREFIX}{n}" if n in family.axes else "stacks" if n in shape else n
        for n in names
        if n in family.axes or n in shape or n in ("before", "job", "family")
    ]
    return list(dict.fromkeys(found))


def in_words(family: Family, rule: str, message: str) -> str:
    """A broken limit in the units of the page: kg, m."""
    limit = next((limit for limit in family.limits if limit.name == rule), None)
    if limit is None:
        return message
    if limit.measure == "difference" and limit.high == 0:
        return f"{limit.message}: they differ by {message.rpartition(' ')[2]}"

    def shown(found: re.Match[str]) -> str:
        value = int(found[0])
        if limit.measure in MASSES:
            return f"{value / 1000:g} kg"
        if limit.measure == "height":
            return f"{value / 1000:g} m"
        return said(family.axes[limit.measure], value) if limit.measure in family.axes else found[0]

    return FIGURES.sub(shown, IN_GRAMS.sub("", message))


def _notes(form: JobForm, asked: Iterable[Axis]) -> Iterator[tuple[str, str]]:
    """How each length was read."""
    for axis in asked:
        text = form.raw(f"{PREFIX}{axis.name}")
        value = base_units(axis, text) if text else None
        if axis.kind == "length" and isinstance(value, int):
            yield f"{PREFIX}{axis.name}", f"read as {said(axis, value)}"
