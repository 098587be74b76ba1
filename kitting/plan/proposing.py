"""A rule for the next edition, from what people signed on kits where the list did not say.

Each way to count that could explain the signed quantities is tried with the engine itself: a rule
is proposed only if every kit that was signed would have come out as it was signed.

Source: common practice, no published source.
"""

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.plan import configuration, family, kit
from kitting.plan.drafting import USUAL
from kitting.plan.errors import PlanError
from kitting.plan.family import Family
from kitting.plan.needs import NEEDS
from kitting.plan.steps import ORDER
from kitting.plan.toml_text import Value, table

_EDITION = re.compile(r"^edition *= *\d{4}-\d{2}-\d{2}", re.M)
_STATUS = re.compile(r'^status *= *"(?:released|trial)"', re.M)


@dataclass(frozen=True, slots=True)
class Signed:
    """What one kit was signed with."""

    configuration: Mapping[str, object]
    item: str
    """Code."""
    quantity: int
    """Base units, at least 1."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A rule that explains what was signed."""

    need: str
    of: str
    text: str
    """TOML tables to add; empty where no single rule explains every kit."""
    words: str
    """How it counts, or why there is none."""
    replaces: str = ""
    """The table of the list that `text` stands in for; empty where it is added."""


def propose(
    found: Family,
    text: str,
    need: str,
    signed: Sequence[Signed],
    things: Mapping[str, Mapping[str, Value]],
) -> Proposal:
    """The proposal for one need ("bond", "tools: fix") of a family read from `text`.

    things: item code -> keys of its [[item]], for what the family does not list yet.
    """
    name, _, of = need.partition(": ")
    items = {one.item for one in signed}
    if len(items) != 1:
        told = Counter(one.item for one in signed)
        listed = ", ".join(f"{code} on {count}" for code, count in sorted(told.items()))
        return Proposal(name, of, "", f"The kits differ in what was taken: {listed}.")
    code = items.pop()
    before = [_total(found, one, code) for one in signed]
    thing = "" if code in found.items else table("item", {"code": code, **things[code]})
    for words, keys in _ways(found, name, signed):
        rule: dict[str, Value] = {"name": f"signed {need}", "need": name, "of": of}
        rule |= {
            "step": usual_step(need, [step.key for step in found.steps]),
            "source": _told(len(signed)),
            **keys,
        }
        more = "\n".join(part for part in (thing, table("rule", rule)) if part)
        if _explains(text, more, before, signed):
            return Proposal(name, of, more, words)
    return Proposal(name, of, "", "No single way of counting explains what was signed.")


def nothing_taken(found: Family, text: str, need: str, why: Sequence[str]) -> Proposal:
    """The proposal for a need that every kit was signed for in words, with nothing taken.

    why: what each kit was signed with.
    """
    name, _, of = need.partition(": ")
    told = list(dict.fromkeys(why))
    if len(told) > 1:
        return Proposal(name, of, "", f"Nothing is taken, each time in other words: {told[0]}; ...")
    rule = {"name": f"signed {need}", "need": name, "of": of, "way": "built_in", "why": told[0]}
    more = table("rule", rule | {"source": _told(len(why))})
    try:
        family.parse(f"{text}\n{more}", "proposal")
    except PlanError as error:
        return Proposal(name, of, "", str(error))
    return Proposal(name, of, more, f"Nothing is taken: {told[0]}")


def _told(kits: int) -> str:
    return f"signed on {kits} kit{'' if kits == 1 else 's'}"


def _ways(
    found: Family, need: str, signed: Sequence[Signed]
) -> Iterator[tuple[str, dict[str, Value]]]:
    """Ways to count, the plainest first: (in words, keys of the rule)."""
    one, code = signed[0], signed[0].item
    for k in _shares(one.quantity):
        yield f"{k} for each {NEEDS[need].per}", {"way": "each", "gives": {code: k}}
    for per, words in (("stacks", "stack"), ("total_modules", "module")):
        for k in _shares(one.quantity):
            keys: dict[str, Value] = {"way": "each", "gives": {code: k}, "per": per}
            yield f"{k} for each {words} of the job", keys
    yield (
        f"{one.quantity} for each job",
        {"way": "each", "gives": {code: one.quantity}, "per": 1},
    )
    heights: dict[int, int] = {}
    for each in signed:
        stacks = each.configuration.get("stacks")
        if isinstance(stacks, list) and len(stacks) == 1:
            heights[stacks[0]["modules"]] = each.quantity
    if len(heights) > 1:
        rows: list[Value] = [{"modules": n, "gives": {code: k}} for n, k in sorted(heights.items())]
        low, high = min(heights), max(heights)
        if sorted(heights) == list(range(low, high + 1)) == list(_modules(found)):
            yield "by the modules of the stack", {"way": "table", "by": ["modules"], "rows": rows}


def _modules(found: Family) -> range:
    low, high = found.bounds.modules
    return range(low, high + 1)


def _shares(quantity: int) -> Iterator[int]:
    """Whole parts of a quantity, the largest first: who signed 4 took 4, 2 or 1 for each."""
    return (k for k in range(min(quantity, 1000), 0, -1) if quantity % k == 0)


def _explains(text: str, more: str, before: Sequence[int], signed: Sequence[Signed]) -> bool:
    try:
        changed = family.parse(f"{text}\n{more}", "proposal")
        return all(
            _total(changed, one, one.item) - was == one.quantity
            for was, one in zip(before, signed, strict=True)
        )
    except PlanError:
        return False


def _total(found: Family, one: Signed, code: str) -> int:
    """Base units of an item in the kit of a signed configuration."""
    worked = kit.work_out(found, configuration.parse(dict(one.configuration), found))
    return sum(line.quantity for line in worked.lines if line.item == code)


def usual_step(need: str, keys: Sequence[str]) -> str:
    """The step that usually does a need ("bond", "tools: fix"), out of those there are; where the
    list has no such step, the one before it in the order of the trade.

    >>> usual_step("bond", ["look", "earth"]), usual_step("tools: fix", ["look", "fix"])
    ('earth', 'fix')
    >>> usual_step("bond", ["look", "connect", "label"])
    'connect'
    """
    name, _, of = need.partition(": ")
    known = NEEDS.get(name)
    of_step = known is not None and known.per == "step"
    wanted = of.partition(":")[0] if of_step else USUAL.get(name, "")
    if wanted in keys or wanted not in ORDER:
        return wanted if wanted in keys else keys[-1]
    before = [key for key in keys if key in ORDER and ORDER.index(key) < ORDER.index(wanted)]
    return before[-1] if before else keys[0]


def next_trial(
    text: str, more: Sequence[str], edition: dt.date, instead: Mapping[str, str] | None = None
) -> str:
    """The text of a trial of this date: the given edition with tables added at its end.

    instead: tables of the edition -> what stands in their place.

    >>> next_trial('edition = 2026-11-03\\nstatus = "released"', ["[[rule]]"], dt.date(2026, 12, 1))
    'edition = 2026-12-01\\nstatus = "trial"\\n\\n[[rule]]\\n'
    """
    for old, new in (instead or {}).items():
        text = text.replace(old, new, 1)
    dated = _EDITION.sub(f"edition = {edition.isoformat()}", text, count=1)
    trial = _STATUS.sub('status = "trial"', dated, count=1)
    return "\n".join([trial.rstrip("\n"), "", *(part.rstrip("\n") + "\n" for part in more)])
