"""The outline of a stack: which shape each unit has, and how high or long it comes."""

import itertools
from typing import TYPE_CHECKING

from kitting.plan.conditions import holds
from kitting.plan.site import Scope
from kitting.plan.wiring import Shape

if TYPE_CHECKING:
    from kitting.plan.family import Family


def shape(family: "Family", kind: str, scope: Scope) -> Shape | None:
    """The first shape of a kind whose condition holds for the stack; None where there is none."""
    for found in family.shapes:
        if found.kind == kind and holds(found.when, scope):
            return found
    return None


def heights(family: "Family") -> frozenset[int]:
    """Every height in mm that a stack within the bounds can have, whatever the answers."""
    low, high = family.bounds.modules
    by_kind = [
        {shape.height for shape in family.shapes if shape.kind == kind} | {0}
        for kind in ("base", "module", "head", "cap")
    ]
    combined = itertools.product(*by_kind)
    if family.arrangement == "row":
        return frozenset(max(each) for each in combined)
    return frozenset(
        base + modules * module + head + cap
        for base, module, head, cap in combined
        for modules in range(low, high + 1)
    )


def height(family: "Family", scope: Scope) -> int:
    """mm from the foot to the top: a tower adds up, a row is as high as its highest outline."""
    found = [shape(family, kind, scope) for kind in ("base", "module", "head", "cap")]
    heights = [0 if one is None else one.height for one in found]
    if family.arrangement == "row":
        return max(heights)
    base, module, head, cap = heights
    return base + scope.number("modules") * module + head + cap
