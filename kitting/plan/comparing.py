"""Two kits side by side: which answers differ, and step by step, item by item, what that changes
and why."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.plan import difference
from kitting.plan.difference import Difference, Key
from kitting.plan.family import Family
from kitting.plan.given import quantity as said
from kitting.plan.lines import Line
from kitting.plan.site import UNKNOWN
from kitting.plan.steps import Step
from kitting.plan.telling import alike, listed, sentence, worded

NONE = "not asked"


@dataclass(frozen=True, slots=True)
class Side:
    """One kit with what it was worked out from."""

    family: Family
    configuration: Mapping[str, object]
    """As JSON has it."""
    lines: Sequence[Line]
    steps: Sequence[Step]
    """In order; spares have one of their own."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One answer that is not the same."""

    question: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Row:
    """One item at one step, of which the two kits have not the same."""

    item: str
    name: str
    was: str
    """As people say it: "9", "5.2 m"; empty for none."""
    now: str
    because_was: tuple[str, ...]
    """Reasons that only the one kit has."""
    because_now: tuple[str, ...]
    """Reasons that only the other has."""


@dataclass(frozen=True, slots=True)
class AtStep:
    """One step at which something differs."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs; empty where nothing does."""

    answers: tuple[Changed, ...]
    steps: tuple[AtStep, ...]
    difference: Difference
    """Over all steps: what to pick more, what goes back."""

    def __bool__(self) -> bool:
        return bool(self.answers or self.steps)


def of(old: Side, new: Side) -> Comparison:
    """Compare one kit with another. Each has one line for an item at a step."""
    found = difference.of_lines(old.lines, new.lines)
    changed = {(line.item, line.step) for line in (*found.more, *found.less)}
    steps = {step.key: step.title for step in (*new.steps, *old.steps)}
    was, will = _by_key(old.lines), _by_key(new.lines)
    order = dict.fromkeys([*will, *was])
    at_steps = []
    for key, title in steps.items():
        keys = [one for one in order if one[1] == key and one in changed]
        rows = tuple(_row(old, new, was.get(one), will.get(one)) for one in keys)
        if rows:
            at_steps.append(AtStep(title, rows))
    return Comparison(tuple(_answers(old, new)), tuple(at_steps), found)


def _by_key(lines: Iterable[Line]) -> dict[Key, Line]:
    return {(line.item, line.step): line for line in lines}


def _row(old: Side, new: Side, was: Line | None, now: Line | None) -> Row:
    known = now or was
    assert known is not None, "one of the two has it"
    before, after = _because(old, was), _because(new, now)
    return Row(
        known.item,
        known.name,
        _quantity(was),
        _quantity(now),
        tuple(words for words in before if words not in after) or before,
        tuple(words for words in after if words not in before) or after,
    )


def _because(side: Side, line: Line | None) -> tuple[str, ...]:
    titles = {step.key: step.title for step in side.steps}
    reasons = line.reasons if line is not None else ()
    unit = line.unit if line is not None else ""
    return tuple(sentence(titles, unit, same) for same in alike(reasons))


def _quantity(line: Line | None) -> str:
    """A line's quantity; a cut length piece by piece."""
    if line is None:
        return ""
    return " + ".join(said(piece, line.unit) for piece in line.pieces) or said(
        line.quantity, line.unit
    )


def _answers(old: Side, new: Side) -> Iterator[Changed]:
    """What was answered otherwise: the system, the stacks, then the questions in their order."""
    if (old.family.name, old.family.edition) != (new.family.name, new.family.edition):
        yield Changed("Parts list", _list_of(old.family), _list_of(new.family))
    shapes = [_shape(side.configuration) for side in (old, new)]
    if shapes[0] != shapes[1]:
        yield Changed("Modules in each stack", *shapes)
    if old.configuration.get("job") != new.configuration.get("job"):
        jobs = [str(side.configuration.get("job", "new")) for side in (old, new)]
        yield Changed("Kind of job", *jobs)
    names = dict.fromkeys([*old.family.axes, *new.family.axes])
    for name in names:
        was, now = (side.configuration.get(name) for side in (old, new))
        if was != now:
            axis = new.family.axes.get(name) or old.family.axes[name]
            yield Changed(
                axis.plain, _answer(old.family, name, was), _answer(new.family, name, now)
            )


def _list_of(family: Family) -> str:
    return f"{family.title}, {family.edition.isoformat()}"


def _shape(configuration: Mapping[str, object]) -> str:
    stacks = configuration.get("stacks")
    held = [str(one["modules"]) for one in stacks] if isinstance(stacks, list) else []
    return listed(held) if held else "none"


def _answer(family: Family, name: str, value: object) -> str:
    if value == UNKNOWN:
        return "not known yet"
    if not isinstance(value, int | str):
        return NONE
    return worded(family, name, value)
