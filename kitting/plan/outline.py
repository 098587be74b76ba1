"""The outline of a stack: which shape each unit has, and how high or long it comes."""

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


def height(family: "Family", scope: Scope) -> int:
    """mm from the foot to the top: a tower adds up, a row is as high as its highest outline."""
    found = [shape(family, kind, scope) for kind in ("base", "module", "head", "cap")]
    heights = [0 if one is None else one.height for one in found]
    if family.arrangement == "row":
        return max(heights)
    base, module, head, cap = heights
    return base + scope.number("modules") * module + head + cap
