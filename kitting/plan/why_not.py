"""Why an item is not on a kit: which condition does not hold, or what was taken instead.

Sentences for a person; each names the rule of the parts list, so that it can be looked up. `say`
puts a phrase into the reader's language.
"""

import difflib
from collections.abc import Callable, Iterable, Iterator, Mapping
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
NOT_IT = "{0}; it comes with {1}, and this kit does not take it."
NONE_OF_THEM = "{0}; it comes with {1}, and this kit does not take any of them."
BESIDE = "{0} only where stacks stand beside one another (here 1 stack)."


Say = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class _Read:
    """What is looked at."""

    family: Family
    site: Site
    met: Met
    told: set[str]
    """Items that are told of already."""
    say: Say


def code_of(family: Family, words: str) -> str:
    """The code of an item by its code or name, whatever its capitals; empty for none."""
    asked = words.strip().casefold()
    for item in family.items.values():
        if asked in (item.code.casefold(), item.name.casefold()):
            return item.code
    return ""


def unlisted(family: Family, words: str, say: Say = str) -> str:
    """That the parts list knows no such item, with those that come near."""
    codes = {code.casefold(): code for code in family.items}
    codes |= {item.name.casefold(): item.code for item in family.items.values()}
    near = difflib.get_close_matches(words.strip().casefold(), list(codes), NEAR)
    found = list(dict.fromkeys(f"{family.items[codes[n]].name} ({codes[n]})" for n in near))
    known = f" {say('Near to it: {0}.').format(listed(found, say('or')))}" if found else ""
    told = say("{0} is not in the parts list of {1} for {2}.")
    return told.format(words.strip(), family.edition.isoformat(), family.title) + known


def reasons(
    family: Family, configuration: Configuration, item: str, say: Say = str
) -> tuple[str, ...]:
    """Why a kit has none of an item of the parts list, rule by rule.

    The configuration breaks no limit: where one is broken there is no kit at all.
    """
    site = configuration.site()
    met = Met()
    meet(family, site, needs(family, site, configuration.job, met), met)
    read = _Read(family, site, met, set(), say)
    found = [*_stands(read, configuration, item), *_of_item(read, item)]
    return tuple(dict.fromkeys(found))


def _of_item(read: _Read, item: str) -> Iterator[str]:
    """Rule by rule; then of what it comes with, where that is not taken either."""
    read.told.add(item)
    rules = [rule for rule in read.family.rules if item in rule.counting.items()]
    for rule in rules:
        yield from _of_rule(read, rule, item)
    if not rules:
        name = read.family.items[item].name
        yield read.say("No rule of the parts list gives {0}.").format(name)


def _stands(read: _Read, configuration: Configuration, item: str) -> Iterator[str]:
    """What a change of a standing stack leaves alone."""
    if configuration.job not in ("expansion", "swap"):
        return
    before = configuration.before or configuration
    there = [entry for entry in expansion.standing(read.family, before) if entry.item == item]
    if there:
        known = read.family.items[item]
        quantity = said(sum(entry.quantity for entry in there), known.unit)
        told = read.say("{0} stand there already, and this job changes none of them.")
        yield told.format(f"{quantity} {known.name}")


def _of_rule(read: _Read, rule: Rule, item: str) -> Iterator[str]:
    name = read.family.items[item].name
    mine = [demand for demand, met_by in read.met.answered if met_by is rule]
    if mine:
        yield from _otherwise(read, rule, name, mine)
        return
    hanging = [one for one in read.met.open if rule.meets(one.demand.need, one.demand.of)]
    if hanging:
        question = read.family.axes[hanging[0].axis].plain
        told = read.say('Rule {0} hangs on a question that is not answered yet: "{1}"')
        yield told.format(rule.name, question)
        return
    arisen = [d for d, _ in read.met.answered if rule.meets(d.need, d.of)]
    failing = dict.fromkeys(w for d in arisen for w in _failing(read, rule.when, d.measures))
    if failing:
        yield _only(read, _lead(read, rule, name), failing)
    elif not arisen:
        yield from _not_asked(read, rule, name)


def _lead(read: _Read, rule: Rule, name: str) -> str:
    """Which rule gives it, and for what."""
    part = f" ({listed(rule.of, read.say('and'))})" if rule.of else ""
    what = f"{read.say(NEEDS[rule.need].plain)}{part}"
    return read.say("Rule {0} gives {1} for {2}").format(rule.name, name, what)


def _only(read: _Read, lead: str, conditions: Iterable[str]) -> str:
    """Under which conditions the rule gives it."""
    return read.say("{0} only {1}.").format(lead, listed(list(conditions), read.say("and")))


def _otherwise(read: _Read, rule: Rule, name: str, mine: list[Demand]) -> Iterator[str]:
    """The rule met its need, but with something else or with nothing."""
    taken: dict[str, Entry] = {}
    for entry in read.met.entries:
        if entry.rule is rule and entry.item not in taken:
            taken[entry.item] = entry
    part = f" ({mine[0].of})" if mine[0].of else ""
    what = f"{read.say(NEEDS[rule.need].plain)}{part}"
    if not taken:
        yield read.say("For {0} rule {1} gives no {2} here.").format(what, rule.name, name)
    for item, entry in taken.items():
        sums = "; ".join(map(read.say, how(reason_of(entry)).split("; ")))
        told = read.say("For {0} rule {1} takes {2} instead: {3}.")
        yield told.format(what, rule.name, read.family.items[item].name, sums)


def _failing(read: _Read, when: When, measures: Mapping[str, object]) -> Iterator[str]:
    """The conditions that do not hold, each with what is there instead."""
    scope = Scope(read.site, measures)  # type: ignore[arg-type]  # as the demand carries them
    for condition in when:
        try:
            if not condition.holds(scope):
                yield _wanted(read, condition, scope.read(condition.name))
        except UnknownInput as unknown:
            question = read.family.axes[unknown.axis].plain
            yield read.say('with an answer to "{0}"').format(question)


def _wanted(read: _Read, condition: Condition, value: Value) -> str:
    """A condition in words, and what is there instead."""
    say, axis = read.say, read.family.axes.get(condition.name)
    wanted, there = _range(read, condition), _worded(read, condition.name, value)
    none = say("it does not arise here") if value is None else ""
    if axis is not None:
        told = say('where the answer to "{0}" is {1} ({2})')
        return told.format(axis.plain, wanted, none or say("it is {0}").format(there))
    here = none or say("here {0}").format(there)
    if condition.name in COUNTED:
        return say("with {0} ({1})").format(wanted, here)
    return say("where {0} is {1} ({2})").format(condition.name.replace("_", " "), wanted, here)


def _range(read: _Read, condition: Condition) -> str:
    name, say = condition.name, read.say
    if condition.allowed:
        some = [_worded(read, name, one) for one in sorted(condition.allowed, key=str)]
        return listed(some, say("or"))
    low, high = condition.low, condition.high
    if low == high:
        return _worded(read, name, low)
    if abs(high) >= LARGEST:
        return say("{0} or more").format(_worded(read, name, low))
    if abs(low) >= LARGEST:
        return say("{0} at most").format(_worded(read, name, high))
    least = str(low) if name in COUNTED else _worded(read, name, low)
    return say("{0} to {1}").format(least, _worded(read, name, high))


def _worded(read: _Read, name: str, value: Value) -> str:
    return read.say(worded(read.family, name, value))


def _not_asked(read: _Read, rule: Rule, name: str) -> Iterator[str]:
    """Nothing here has the need that the rule meets."""
    lead, say = _lead(read, rule, name), read.say
    parents = [item for item in read.family.items.values() if _brings(rule, item)]
    if parents:
        names = [item.name for item in parents[:MOST]]
        if len(parents) > MOST:
            names.append(say("{0} more").format(len(parents) - MOST))
        told = say(NOT_IT if len(parents) == 1 else NONE_OF_THEM)
        yield told.format(lead, listed(names, say("or")))
        for parent in parents[:MOST]:
            if parent.code not in read.told:
                yield from _of_item(read, parent.code)
        return
    conditions = dict.fromkeys(w for when in _whens(read, rule) for w in _failing(read, when, {}))
    if NEEDS[rule.need].kind == REMOVAL and read.site.answers["job"] != "removal":
        yield say("{0} only when a stack is taken down.").format(lead)
    elif conditions:
        yield _only(read, lead, conditions)
    elif _beside(read, rule) and len(read.site.shape) == 1:
        yield say(BESIDE).format(lead)
    else:
        yield say("{0}; nothing of this stack asks for that.").format(lead)


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
