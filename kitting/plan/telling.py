"""How a reason, an answer and a list are said to a person."""

from collections.abc import Sequence
from typing import Final

from kitting.plan.family import Family
from kitting.plan.lines import Reason
from kitting.plan.site import HEIGHT, Value

BARE: Final = {
    "1 system": "one for the whole job",
    "1 stack": "one for each stack",
    "1 gap beside it": "one for each further stack",
    "1 entry": "one for each entry",
}
"""Counts that say nothing beside a sum, and what they say alone."""
COUNTED: Final = {"stacks": "stack", "modules": "module", "total_modules": "module"}


def how(reason: Reason) -> str:
    """The arithmetic without what is said beside it.

    >>> how(Reason("cover: front", "R", "stack 1: 4 modules", "", 4, "stack 1"))
    '4 modules'
    >>> how(Reason("fix to wall", "R", "stack 1: 1 stack; 1 x 4 anchor = 4", "", 4, "stack 1"))
    '1 x 4 anchor = 4'
    >>> how(Reason("run data: data", "R", "data, system; 6000 mm, in one piece", "", 1, "system"))
    '6000 mm, in one piece'
    """
    of = reason.need.partition(": ")[2]
    first, *rest = reason.arithmetic.split("; ")
    for lead in (f"{of}, {reason.place}", reason.place):
        if lead and (first == lead or first.startswith(f"{lead}: ")):
            first = first[len(lead) + 2 :]
    if first in BARE:
        first = "" if rest else BARE[first]
    return "; ".join(filter(None, [first, *rest])) or BARE["1 system"]


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words as a sentence lists them.

    >>> listed(["stack 1", "stack 2", "stack 3"]), listed(["wall"], "or")
    ('stack 1, stack 2 and stack 3', 'wall')
    """
    *first, end = words
    return f"{', '.join(first)} {last} {end}" if first else end


def many(times: int, quantity: str) -> str:
    """A quantity that stands more than once.

    >>> many(1, "22"), many(2, "22")
    ('22', '2 x 22')
    """
    return quantity if times == 1 else f"{times} x {quantity}"


def worded(family: Family, name: str, value: Value) -> str:
    """An answer or a count as people say it."""
    axis = family.axes.get(name)
    if axis is not None and isinstance(value, int):
        return {"length": f"{value} mm", "diameter": f"{value / 10:g} mm"}.get(
            axis.kind, str(value)
        )
    if name in COUNTED:
        return f"{value} {COUNTED[name]}" + ("" if value == 1 else "s")
    return f"{value} mm" if name == HEIGHT else str(value)
