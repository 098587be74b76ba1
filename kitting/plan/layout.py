"""Where each unit, lead and bracket stands, as boxes for a drawing. Outlines are to scale; leads
and brackets are signs beside them.

Tower: seen from the front, stacks side by side, foot at the bottom. Row: seen from the side, the
wall at the left, rows one below
another. x grows to the right and y downwards from the upper left corner, in mm.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from kitting.plan import outline
from kitting.plan.configuration import Configuration
from kitting.plan.expansion import standing
from kitting.plan.family import Family
from kitting.plan.site import Scope
from kitting.plan.wiring import Shape

BETWEEN: Final = 240
"""mm drawn between rows, whatever the real gap is, so that leads and brackets have room."""
LEAD: Final = (36, 110)
BRACKET: Final = (70, 34)
"""Width and height in mm of a sign."""
KINDS: Final = {"module": "unit", "head": "head", "base": "base", "cap": "cap"}


@dataclass(frozen=True, slots=True)
class Box:
    """One thing of the drawing."""

    key: str
    """Unique in the drawing: "unit-1-2"."""
    kind: str
    """unit, lead, bracket, base, cap or head"""
    stack: int
    """1 first"""
    level: int
    """Place in the stack, 1 next to the foot or the wall; of a lead, the lower of its two units."""
    item: str
    x: int
    y: int
    w: int
    h: int
    """mm"""


def boxes(family: Family, configuration: Configuration) -> tuple[Box, ...]:
    """Every box, stack by stack, the foot first."""
    site = configuration.site().for_job("new")
    signs = _signs(family, configuration)
    stacks = []
    for number, modules in enumerate(configuration.shape, 1):
        scope = Scope(site, {"stack": number, "modules": modules})
        outlines = list(_outlines(family, scope, number, modules))
        stacks.append([*outlines, *_beside(family, outlines, signs, number)])
    return tuple(_placed(stacks, family.arrangement))


def _outlines(family: Family, scope: Scope, number: int, modules: int) -> Iterator[Box]:
    """The units of one stack from the foot on, as if the foot stood at 0."""
    row = family.arrangement == "row"
    levels = [("base", 1), *(("module", level) for level in range(1, modules + 1))]
    # In a row the cover closes the row, and the power unit hangs by itself.
    last = ["cap", "head"] if row else ["head", "cap"]
    at = 0
    for kind, level in [*levels, *((kind, modules + 1) for kind in last)]:
        shape = outline.shape(family, kind, scope)
        if shape is not None:
            at += BETWEEN if row and kind == "head" else 0
            box = _outline(shape, kind, number, level, at, family.arrangement)
            at += box.w if family.arrangement == "row" else box.h
            yield box


def _outline(shape: Shape, kind: str, number: int, level: int, at: int, arrangement: str) -> Box:
    drawn = KINDS[kind]
    key = f"{drawn}-{number}-{level}"
    if arrangement == "row":
        return Box(
            key, drawn, number, level, shape.item, at, -shape.height, shape.depth, shape.height
        )
    top = -at - shape.height
    return Box(key, drawn, number, level, shape.item, 0, top, shape.width, shape.height)


def _signs(family: Family, configuration: Configuration) -> Counter[tuple[int, str]]:
    """(stack, item) -> how many leads or brackets of the kit belong to the stack."""
    found: Counter[tuple[int, str]] = Counter()
    for entry in standing(family, configuration):
        stack = entry.demand.measures.get("stack")
        if family.items[entry.item].draw in ("lead", "bracket") and isinstance(stack, int):
            found[stack, f"{family.items[entry.item].draw} {entry.item}"] += entry.quantity
    return found


def _beside(
    family: Family, outlines: Sequence[Box], signs: Counter[tuple[int, str]], number: int
) -> Iterator[Box]:
    """Leads across the joints between units, brackets at the units, spread evenly."""
    units = [box for box in outlines if box.kind == "unit"]
    joints = max(1, family.joints.links(len(units)))
    taken: Counter[tuple[str, str]] = Counter()
    for (stack, named), count in sorted(signs.items()):
        kind, _, item = named.partition(" ")
        places = joints if kind == "lead" else len(units)
        for index in range(count if stack == number else 0):
            unit = units[min(index * places // count, len(units) - 1)]
            key = f"{kind}-{stack}-{item}-{index + 1}"
            yield _sign(unit, kind, item, key, taken[unit.key, kind], family.arrangement)
            taken[unit.key, kind] += 1


def _sign(unit: Box, kind: str, item: str, key: str, out: int, arrangement: str) -> Box:
    """A sign at its unit; `out`: how many of its kind are there already, nearer to the unit."""
    w, h = LEAD if kind == "lead" else BRACKET
    if arrangement == "row":
        w, h = h, w
    off = (out + 1) * (8 + min(w, h) if kind == "lead" else 8 + max(w, h))
    if arrangement == "row" and kind == "lead":
        x, y = unit.x + unit.w - w // 2, unit.y - off
    elif arrangement == "row":
        x, y = unit.x + unit.w // 2 - w // 2, unit.y + unit.h + off - h
    elif kind == "lead":
        x, y = unit.x + unit.w + off - w, unit.y - h // 2
    else:
        x, y = unit.x - off, unit.y + unit.h // 2 - h // 2
    return Box(key, kind, unit.stack, unit.level, item, x, y, w, h)


def _placed(stacks: Sequence[Sequence[Box]], arrangement: str) -> Iterator[Box]:
    """Stacks set beside (tower) or below (row) each other, and all moved into positive mm."""
    moved: list[Box] = []
    at = 0
    for stack in stacks:
        if arrangement == "row":
            moved += [replace(box, y=box.y + at) for box in stack]
            low, high = max(box.y + box.h for box in stack), min(box.y for box in stack)
            at += low - high + BETWEEN
        else:
            moved += [replace(box, x=box.x + at) for box in stack]
            right, left = max(box.x + box.w for box in stack), min(box.x for box in stack)
            at += right - left + BETWEEN // 2
    left, top = min(box.x for box in moved), min(box.y for box in moved)
    return (replace(box, x=box.x - left, y=box.y - top) for box in moved)
