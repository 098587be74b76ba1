"""Allowed sets that reach besides the one a kit takes, each with what the kit would be then.

The list is worked out anew with the other set in the place of the first, so that whatever hangs on
it (couplings, what these need in turn) is counted by the parts list's own rules.
"""

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from kitting.plan import expansion
from kitting.plan import kit as kits
from kitting.plan.configuration import Configuration
from kitting.plan.counting.allowed_sets import AllowedSets, Set, set_of
from kitting.plan.family import Family
from kitting.plan.given import Book, Demand, Given, Task, Threshold
from kitting.plan.items import Raise
from kitting.plan.meeting import Met, meet, needs
from kitting.plan.rules import Rule
from kitting.plan.site import Scope, Site

MOST: Final = 100
"""Mixtures of sets that are looked at; beyond that only the same set for every way."""
Key = tuple[str, str]
"""(item, step) of a line"""


@dataclass(frozen=True, slots=True)
class Other:
    """Other sets for the ways that one rule spans."""

    sets: tuple[Set, ...]
    """One for each way, shortest first."""
    changes: tuple[tuple[Key, int], ...]
    """Lines that change, and by how many base units; never 0."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a rule takes by itself, and what would reach as well."""

    rule: str
    need: str
    paths: tuple[int, ...]
    """mm of each way, shortest first."""
    taken: tuple[Set, ...]
    others: tuple[Other, ...]

    def items(self) -> frozenset[str]:
        """The items of the sets that are taken."""
        return frozenset(item for _, items in self.taken for item in items)


def choices(family: Family, configuration: Configuration) -> list[Choice]:
    """Every rule of a configuration that takes an allowed set though another reaches too."""
    site, met = configuration.site(), Met()
    meet(family, site, needs(family, site, configuration.job, met), met)
    standing = _standing(family, configuration)
    spans: dict[str, tuple[Rule, list[Demand]]] = {}
    for demand, rule in met.answered:
        spanned = _spanned(demand, rule, site)
        if spanned is not None and (demand, spanned) not in standing:
            spans.setdefault(rule.name, (rule, []))[1].append(demand)
    before = _lines(kits.work_out(family, configuration))
    found = []
    for rule, demands in spans.values():
        assert isinstance(rule.counting, AllowedSets), "as looked at above"
        paths = [
            rule.counting.path.value(Scope(site, demand.measures))
            for demand in demands
            for _ in range(demand.number)
        ]
        taken = tuple(sorted(rule.counting.reaching(path)[0] for path in paths))
        others = tuple(_others(family, configuration, rule, demands, before))
        if others:
            found.append(Choice(rule.name, rule.need, tuple(sorted(paths)), taken, others))
    return found


def _standing(family: Family, configuration: Configuration) -> list[tuple[Demand, int]]:
    """The ways that are spanned before an expansion, each with its mm: no part of the choice."""
    if configuration.job != "expansion" or configuration.before is None:
        return []
    site = configuration.before.site().for_job("new")
    answered = expansion.stood(family, configuration.before).answered
    ways = ((demand, _spanned(demand, rule, site)) for demand, rule in answered)
    return [(demand, path) for demand, path in ways if path is not None]


def _spanned(demand: Demand, rule: Rule, site: Site) -> int | None:
    """mm of a way that takes an allowed set; None for any other need."""
    if not isinstance(rule.counting, AllowedSets) or rule.once:
        return None
    return rule.counting.path.value(Scope(site, demand.measures))


def _lines(kit: kits.Kit) -> Counter[Key]:
    found: Counter[Key] = Counter()
    for line in kit.lines:
        found[line.item, line.step] += line.quantity
    return found


def _others(
    family: Family,
    configuration: Configuration,
    rule: Rule,
    demands: Sequence[Demand],
    before: Counter[Key],
) -> Iterator[Other]:
    """Every mixture that changes the kit, each set of changes once, the shortest sets first."""
    seen: set[tuple[tuple[Key, int], ...]] = {()}
    for picks in _mixtures(rule, demands, configuration):
        assert isinstance(rule.counting, AllowedSets), "asked of no other"
        chosen = replace(rule, counting=_Chosen(rule.counting, tuple(picks)))
        rules = tuple(chosen if one is rule else one for one in family.rules)
        kit = kits.work_out(replace(family, rules=rules, meeting={}), configuration)
        if kit.refused:
            continue
        after = _lines(kit)
        changes = tuple(
            (key, after[key] - before[key])
            for key in sorted({*before, *after})
            if after[key] != before[key]
        )
        if changes not in seen:
            seen.add(changes)
            yield Other(tuple(sorted(itertools.chain(*(sets for _, sets in picks)))), changes)


def _mixtures(
    rule: Rule, demands: Sequence[Demand], configuration: Configuration
) -> Iterator[list[tuple[Demand, tuple[Set, ...]]]]:
    """For each need of the rule one set for each of its ways."""
    assert isinstance(rule.counting, AllowedSets), "asked of no other"
    site = configuration.site()
    reach = [
        rule.counting.reaching(rule.counting.path.value(Scope(site, demand.measures)))
        for demand in demands
    ]
    each = [
        math.comb(len(sets) + demand.number - 1, demand.number)
        for sets, demand in zip(reach, demands, strict=True)
    ]
    rows: Iterable[tuple[tuple[Set, ...], ...]]
    if math.prod(each) <= MOST:
        rows = itertools.product(
            *(
                itertools.combinations_with_replacement(sets, demand.number)
                for sets, demand in zip(reach, demands, strict=True)
            )
        )
    else:
        all_reach = [one for one in reach[0] if all(one in sets for sets in reach)]
        rows = [tuple((one,) * demand.number for demand in demands) for one in all_reach]
    for row in rows:
        yield list(zip(demands, row, strict=True))


@dataclass(frozen=True, slots=True)
class _Chosen:
    """Allowed sets where a person chose which."""

    counting: AllowedSets
    picks: tuple[tuple[Demand, tuple[Set, ...]], ...]

    @property
    def couples(self) -> tuple[Raise, ...]:
        """As the rule raises them."""
        return self.counting.couples

    def items(self) -> tuple[str, ...]:
        """Every item of every set."""
        return self.counting.items()

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The sets that were chosen for this need; the first that reaches for any other."""
        for demand, sets in self.picks:
            if demand == task.demand:
                return list(self._given(sets))
        return self.counting.count(task)

    def thresholds(self, book: Book) -> list[Threshold]:
        """As the rule has them."""
        return self.counting.thresholds(book)

    def _given(self, sets: tuple[Set, ...]) -> Iterator[Given]:
        counts = Counter(item for _, items in sets for item in items)
        joints = sum(len(items) - 1 for _, items in sets)
        raises = tuple(Raise(r.need, r.of, r.count * joints) for r in self.couples if joints)
        for place, item in enumerate(set_of(tuple(counts))):
            words = "sets of " + ", ".join(f"{length} mm" for length, _ in sets)
            yield Given(item, counts[item], words, raises=() if place else raises)
