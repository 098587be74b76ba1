"""How a reason, an answer and a list are said to a person."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from kitting.plan.family import Family
from kitting.plan.given import quantity as said
from kitting.plan.lines import Reason
from kitting.plan.needs import NEEDS
from kitting.plan.site import HEIGHT, Value

BARE: Final = {
    "1 system": "one for the whole job",
    "1 stack": "one for each stack",
    "1 gap beside it": "one for each further stack",
    "1 entry": "one for each entry",
}
"""Counts that say nothing beside a sum, and what they say alone."""
COUNTED: Final = {"stacks": "stack", "modules": "module", "total_modules": "module"}


def alike(reasons: Iterable[Reason]) -> list[list[Reason]]:
    """Reasons that differ in their place alone, together."""
    found: dict[tuple[object, ...], list[Reason]] = {}
    for reason in reasons:
        key = (*reason._replace(place="", arithmetic=""), how(reason))
        found.setdefault(key, []).append(reason)
    return list(found.values())


def places_of(reasons: Iterable[Reason]) -> tuple[str, ...]:
    """Where they arise, each place once; none for the whole system."""
    return tuple(dict.fromkeys(r.place for r in reasons if r.place not in ("", "system")))


def sentence(
    titles: Mapping[str, str], unit: str, reasons: Sequence[Reason], say: Callable[[str], str] = str
) -> str:
    """Reasons that are alike in words. titles: key of a step -> what the family calls it; say: puts
    a phrase into the reader's language, {0} and so on left as they stand.
    """
    first, places = reasons[0], [say(place) for place in places_of(reasons)]
    need, _, of = first.need.partition(": ")
    quantity = say(said(first.quantity, unit)) if first.quantity else ""
    if need not in NEEDS:
        return f"{quantity} {say(need)}: {_each(first.arithmetic, say)}".strip()
    part = f" ({_of_step(titles, need, of)})" if of else ""
    where = f", {listed(places, say('and'))}" if places else ""
    what, sums = f"{say(NEEDS[need].plain)}{part}{where}", _each(how(first), say)
    if not quantity:
        return say("for {0}: {1} (parts list, rule {2})").format(what, sums, say(first.rule))
    lead = many(len(reasons), quantity)
    return say("{0} for {1}: {2} (parts list, rule {3})").format(lead, what, sums, say(first.rule))


def _each(arithmetic: str, say: Callable[[str], str]) -> str:
    return "; ".join(say(part) for part in arithmetic.split("; "))


def _of_step(titles: Mapping[str, str], need: str, of: str) -> str:
    """The part of a need; of a step's need with the step as the family calls it."""
    if NEEDS[need].per != "step":
        return of
    key, sign, rest = of.partition(": ")
    return f"{titles.get(key, key)}{sign}{rest}"


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
        return axis.shown(value)
    if name in COUNTED:
        return f"{value} {COUNTED[name]}" + ("" if value == 1 else "s")
    return f"{value} mm" if name == HEIGHT else str(value)
