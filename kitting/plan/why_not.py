"""Why an item is not on a kit: which condition does not hold, or what was taken instead.

Sentences for a person; each names the rule of the parts list, so that it can be looked up.
"""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from kitting.plan import expansion
from kitting.plan.conditions import Condition, When
from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.given import Demand
from kitting.plan.given import quantity as said
from kitting.plan.items import FamilyItem
from kitting.plan.lines import reason_of
from kitting.plan.meeting import Entry, Met, meet, needs
from kitting.plan.needs import NEEDS, REMOVAL
from kitting.plan.reading import LARGEST
from kitting.plan.rules import Rule
from kitting.plan.site import Scope, Site, UnknownInput, Value
from kitting.plan.telling import COUNTED, how, listed, worded

MOST = 4  # things named in one sentence; more are counted
NEAR = 3  # codes that are offered for one that is not known


@dataclass(frozen=True, slots=True)
class _Read:
    """What is looked at."""

    family: Family
    site: Site
    met: Met
    told: set[str]
    """Items that are told of already."""


def code_of(family: Family, words: str) -> str:
    """The code of an item by its code or name, whatever its capitals; empty for none."""
    asked = words.strip().casefold()
    for item in family.items.values():
        if asked in (item.code.casefold(), item.name.casefold()):
            return item.code
    return ""


def unlisted(family: Family, words: str) -> str:
    """That the parts list knows no such item, with those that come near."""
    codes = {code.casefold(): code for code in family.items}
    codes |= {item.name.casefold(): item.code for item in family.items.values()}
    near = difflib.get_close_matches(words.strip().casefold(), list(codes), NEAR)
    found = list(dict.fromkeys(f"{family.items[codes[n]].name} ({codes[n]})" for n in near))
    known = f" Near to it: {listed(found, 'or')}." if found else ""
    where = f"the parts list of {family.edition.isoformat()} for {family.title}"
    return f"{words.strip()} is not in {where}.{known}"


def reasons(family: Family, configuration: Configuration, item: str) -> tuple[str, ...]:
    """Why a kit has none of an item of the parts list, rule by rule.

    The configuration breaks no limit: where one is broken there is no kit at all.
    """
    site = configuration.site()
    met = Met()
    meet(family, site, needs(family, site, configuration.job, met), met)
    read = _Read(family, site, met, set())
    found = [*_stands(read, configuration, item), *_of_item(read, item)]
    return tuple(dict.fromkeys(found))


def _of_item(read: _Read, item: str) -> Iterator[str]:
    """Rule by rule; then of what it comes with, where that is not taken either."""
    read.told.add(item)
    rules = [rule for rule in read.family.rules if item in rule.counting.items()]
    for rule in rules:
        yield from _of_rule(read, rule, item)
    if not rules:
        yield f"No rule of the parts list gives {read.family.items[item].name}."


def _stands(read: _Read, configuration: Configuration, item: str) -> Iterator[str]:
    """What a change of a standing stack leaves alone."""
    if configuration.job not in ("expansion", "swap"):
        return
    before = configuration.before or configuration
    there = [entry for entry in expansion.standing(read.family, before) if entry.item == item]
    if there:
        known = read.family.items[item]
        quantity = said(sum(entry.quantity for entry in there), known.unit)
        yield f"{quantity} {known.name} stand there already, and this job changes none of them."


def _of_rule(read: _Read, rule: Rule, item: str) -> Iterator[str]:
    name = read.family.items[item].name
    mine = [demand for demand, met_by in read.met.answered if met_by is rule]
    if mine:
        yield from _otherwise(read, rule, name, mine)
        return
    hanging = [one for one in read.met.open if rule.meets(one.demand.need, one.demand.of)]
    if hanging:
        question = read.family.axes[hanging[0].axis].plain
        yield f'Rule {rule.name} hangs on a question that is not answered yet: "{question}"'
        return
    arisen = [d for d, _ in read.met.answered if rule.meets(d.need, d.of)]
    failing = dict.fromkeys(w for d in arisen for w in _failing(read, rule.when, d.measures))
    if failing:
        yield f"{_lead(rule, name)} only {listed(list(failing))}."
    elif not arisen:
        yield from _not_asked(read, rule, name)


def _lead(rule: Rule, name: str) -> str:
    """Which rule gives it, and for what."""
    part = f" ({listed(rule.of)})" if rule.of else ""
    return f"Rule {rule.name} gives {name} for {NEEDS[rule.need].plain}{part}"


def _otherwise(read: _Read, rule: Rule, name: str, mine: list[Demand]) -> Iterator[str]:
    """The rule met its need, but with something else or with nothing."""
    taken: dict[str, Entry] = {}
    for entry in read.met.entries:
        if entry.rule is rule and entry.item not in taken:
            taken[entry.item] = entry
    part = f" ({mine[0].of})" if mine[0].of else ""
    what = f"For {NEEDS[rule.need].plain}{part} rule {rule.name}"
    if not taken:
        yield f"{what} gives no {name} here."
    for item, entry in taken.items():
        told = how(reason_of(entry))
        yield f"{what} takes {read.family.items[item].name} instead: {told}."


def _failing(read: _Read, when: When, measures: Mapping[str, object]) -> Iterator[str]:
    """The conditions that do not hold, each with what is there instead."""
    scope = Scope(read.site, measures)  # type: ignore[arg-type]  # as the demand carries them
    for condition in when:
        try:
            if not condition.holds(scope):
                yield _wanted(read.family, condition, scope.read(condition.name))
        except UnknownInput as unknown:
            yield f'with an answer to "{read.family.axes[unknown.axis].plain}"'


def _wanted(family: Family, condition: Condition, value: Value) -> str:
    """A condition in words, and what is there instead."""
    axis = family.axes.get(condition.name)
    wanted = _range(family, condition)
    is_it = "it does not arise here" if value is None else ""
    if axis is not None:
        is_it = is_it or f"it is {worded(family, condition.name, value)}"
        return f'where the answer to "{axis.plain}" is {wanted} ({is_it})'
    is_it = is_it or f"here {worded(family, condition.name, value)}"
    name = condition.name.replace("_", " ")
    lead = f"with {wanted}" if condition.name in COUNTED else f"where {name} is {wanted}"
    return f"{lead} ({is_it})"


def _range(family: Family, condition: Condition) -> str:
    name = condition.name
    if condition.allowed:
        return listed([worded(family, name, v) for v in sorted(condition.allowed, key=str)], "or")
    low, high = condition.low, condition.high
    if low == high:
        return worded(family, name, low)
    if abs(high) >= LARGEST:
        return f"{worded(family, name, low)} or more"
    if abs(low) >= LARGEST:
        return f"{worded(family, name, high)} at most"
    least = str(low) if name in COUNTED else worded(family, name, low)
    return f"{least} to {worded(family, name, high)}"


def _not_asked(read: _Read, rule: Rule, name: str) -> Iterator[str]:
    """Nothing here has the need that the rule meets."""
    lead = _lead(rule, name)
    parents = [item for item in read.family.items.values() if _brings(rule, item)]
    if parents:
        names = [item.name for item in parents[:MOST]]
        if len(parents) > MOST:
            names.append(f"{len(parents) - MOST} more")
        none = "it" if len(parents) == 1 else "any of them"
        yield f"{lead}; it comes with {listed(names, 'or')}, and this kit does not take {none}."
        for parent in parents[:MOST]:
            if parent.code not in read.told:
                yield from _of_item(read, parent.code)
        return
    conditions = dict.fromkeys(w for when in _whens(read, rule) for w in _failing(read, when, {}))
    if NEEDS[rule.need].kind == REMOVAL and read.site.answers["job"] != "removal":
        yield f"{lead} only when a stack is taken down."
    elif conditions:
        yield f"{lead} only {listed(list(conditions))}."
    elif _beside(read, rule) and len(read.site.shape) == 1:
        yield f"{lead} only where stacks stand beside one another (here 1 stack)."
    else:
        yield f"{lead}; nothing of this stack asks for that."


def _brings(rule: Rule, item: FamilyItem) -> bool:
    """Whether an item brings the need that the rule meets."""
    if any(rule.meets(raised.need, raised.of) for raised in item.raises):
        return True
    seat = rule.need == "fit in hole" and bool(item.thread)
    return seat and any(of.startswith(f"{item.thread} in ") for of in rule.of)


def _whens(read: _Read, rule: Rule) -> Iterator[When]:
    """Conditions of what raises the need: runs and buses of the stack."""
    for run in read.family.runs:
        if not rule.of or run.name in rule.of:
            yield run.when
    for bus in read.family.buses:
        if rule.need == "end the bus" and rule.meets(rule.need, bus.name):
            yield bus.when


def _beside(read: _Read, rule: Rule) -> bool:
    """Whether the need arises between stacks only."""
    parts = [p.per for p in read.family.parts if rule.meets(p.need, p.of)]
    runs = [run.per for run in read.family.runs if run.name in rule.of]
    return all(per == "gap" for per in [*parts, *runs] or [NEEDS[rule.need].per])
