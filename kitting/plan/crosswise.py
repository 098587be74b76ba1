"""What only shows when all tables of a family file are read: each against the others."""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

from kitting.plan.conditions import Condition, When
from kitting.plan.errors import Fault
from kitting.plan.needs import NEEDS, RAISED
from kitting.plan.reading import near, shown
from kitting.plan.rules import Rule
from kitting.plan.steps import JOBS

if TYPE_CHECKING:
    from kitting.plan.family import Family

WANTS_STEP: Final = frozenset(
    {
        *("each", "table", "allowed_sets", "fit", "insert", "anchor", "variant"),
        *("cable", "length", "volume", "area", "bus_ends"),
    }
)
"""Ways whose line needs a step named; per_line may take its line's, built_in has none."""


def faults(family: "Family", where: str) -> Iterator[Fault]:
    """Every fault between the tables of one file."""
    yield from _steps(family, where)
    yield from _items(family, where)
    yield from _by_serial(family, where)
    yield from _revisions(family, where)
    yield from _conditions(family, where)
    if "module" not in {shape.kind for shape in family.shapes}:
        yield Fault(where, "shape", "expected an outline of kind module, got none")


def _steps(family: "Family", where: str) -> Iterator[Fault]:
    for rule in family.rules:
        own = (
            not rule.step
            and NEEDS[rule.need].kind != RAISED
            and (rule.way in WANTS_STEP or rule.task)
        )
        if own and not _raised_anywhere(family, rule):
            message = "expected a step for a need of the stack itself, got nothing"
            yield Fault(f"{where}: rule {rule.name!r}", "step", message)


def _raised_anywhere(family: "Family", rule: Rule) -> bool:
    return any(
        rule.meets(raised.need, raised.of)
        for item in family.items.values()
        for raised in item.raises
    )


def _items(family: "Family", where: str) -> Iterator[Fault]:
    named = [(f"shape {n}", shape.item, "item") for n, shape in enumerate(family.shapes, 1)]
    for item in family.items.values():
        named += [(f"item {item.code!r}", code, "carton") for code in item.carton]
        named += [(f"item {item.code!r}", item.ready[0], "ready")] if item.ready else []
    named += [
        (f"made_within {number}", code, "items")
        for number, limit in enumerate(family.made_within, 1)
        for code in limit.items
    ]
    for table, code, key in named:
        if code not in family.items:
            message = f"expected a known item, got {code!r}{near(code, family.items)}"
            yield Fault(f"{where}: {table}", key, message)
        elif key == "ready" and family.items[code].unit != "mm":
            message = f"expected an item that is cut to length, got {code!r}"
            yield Fault(f"{where}: {table}", key, message)


def _by_serial(family: "Family", where: str) -> Iterator[Fault]:
    """Only what is followed by serial has a day of its own on which it was made."""
    codes = Counter(code for limit in family.made_within for code in limit.items)
    for code, times in codes.items():
        item = family.items.get(code)
        if item is not None and item.tracking != "serial":
            message = f"expected items of tracking serial, got {code!r} of {item.tracking}"
            yield Fault(f"{where}: made_within", "items", message)
        if times > 1:
            message = f"expected each item once, got {code!r} {times} times"
            yield Fault(f"{where}: made_within", "items", message)


def _revisions(family: "Family", where: str) -> Iterator[Fault]:
    named = [("family", "expands_from", family.expands_from)] if family.expands_from else []
    named += [
        (f"mixing {number}", "revisions", name)
        for number, mixing in enumerate(family.mixings, 1)
        for name in sorted(mixing.revisions)
    ]
    for table, key, name in named:
        if name not in family.revisions:
            known = ", ".join(family.revisions) or "no revision"
            yield Fault(f"{where}: {table}", key, f"expected one of {known}, got {name!r}")


def _conditions(family: "Family", where: str) -> Iterator[Fault]:
    """Conditions that no answer can ever meet, in whole or in a part."""
    for table, when in _every_when(family):
        for condition in when:
            wrong = _never(family, condition)
            if wrong:
                yield Fault(f"{where}: {table}: when", condition.name, wrong)


def _every_when(family: "Family") -> Iterator[tuple[str, When]]:
    yield from ((f"axis {name!r}", axis.when) for name, axis in family.axes.items())
    yield from ((f"shape {number}", shape.when) for number, shape in enumerate(family.shapes, 1))
    yield from ((f"bus {bus.name!r}", bus.when) for bus in family.buses)
    yield from ((f"run {run.name!r}", run.when) for run in family.runs)
    yield from ((f"rule {rule.name!r}", rule.when) for rule in family.rules)
    yield from ((f"limit {limit.name!r}", limit.when) for limit in family.limits)


def _never(family: "Family", condition: Condition) -> str:
    """Why a condition, or a value of its set, holds for no answer; empty where each can."""
    words = _words(family).get(condition.name)
    if words is not None:
        if not condition.allowed:
            return f"expected a list of {', '.join(words)}, got a range"
        strange = [value for value in condition.allowed if value not in words]
        return _strange(sorted(strange, key=str), f"one of {', '.join(words)}", words)
    low, high = _bounds(family).get(condition.name, (None, None))
    if low is None or high is None:
        return ""
    strange = [value for value in condition.allowed if value not in range(low, high + 1)]
    if condition.allowed:
        return _strange(sorted(strange, key=str), f"whole numbers from {low} to {high}", ())
    if condition.low > high or condition.high < low:
        least, most = max(condition.low, low), min(condition.high, high)
        side = f"min {least}" if condition.low > high else f"max {most}"
        return f"expected a range within {low} to {high}, got {side}"
    return ""


def _strange(strange: list[int | str], wanted: str, known: tuple[str, ...]) -> str:
    if not strange:
        return ""
    close = near(strange[0], known) if isinstance(strange[0], str) else ""
    return f"expected {wanted}, got {shown(strange[0])}{close}"


def _words(family: "Family") -> Mapping[str, tuple[str, ...]]:
    """Names that are answered in words -> the words."""
    choices = {name: axis.values for name, axis in family.axes.items() if axis.kind == "choice"}
    return {**choices, "job": JOBS}


def _bounds(family: "Family") -> Mapping[str, tuple[int, int]]:
    """Names that are numbers with bounds -> least and most."""
    stacks, modules = family.bounds.stacks, family.bounds.modules
    axes = {name: (a.low, a.high) for name, a in family.axes.items() if a.kind != "choice"}
    computed = {"stacks": stacks, "stack": (1, stacks[1]), "modules": modules}
    return {**axes, **computed, "total_modules": (stacks[0] * modules[0], stacks[1] * modules[1])}
