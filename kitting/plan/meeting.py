"""Meets every need by exactly one rule, and every need that the given hardware raises in turn."""

import heapq
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

from kitting.plan.conditions import holds
from kitting.plan.family import Family
from kitting.plan.given import CannotCount, Demand, Given, Task, joined
from kitting.plan.items import FamilyItem, Raise
from kitting.plan.needs import NEEDS, STANDING, arises
from kitting.plan.rules import Rule
from kitting.plan.site import Measures, Scope, Site, UnknownInput
from kitting.plan.steps import IN_EVERY_JOB, order
from kitting.plan.topology import Source, sources

ONCE = "once for the whole job"
LARGEST_LINE = 2_000_000_000
"""Base units of one line: more is a fault of the family (2,000 km, 2,000 litres)."""


class Entry(NamedTuple):
    """One giving of one rule for one need."""

    item: str
    quantity: int
    """Base units, at least 1."""
    pieces: tuple[int, ...]
    step: str
    rule: Rule
    demand: Demand
    words: str
    """The arithmetic of the whole giving."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A need that is not met once."""

    kind: str
    """unmet, overlap, cannot count, no step, quantity"""
    rule: str
    """Name of the rule or rules at fault; for an unmet need the need itself."""
    message: str
    demand: Demand | None


@dataclass(frozen=True, slots=True)
class Open:
    """A need that hangs on an answer still unknown."""

    axis: str
    demand: Demand


class Told(NamedTuple):
    """Something to do that a rule tells beside what it gives."""

    step: str
    words: str
    """One sentence."""
    rule: Rule
    demand: Demand


@dataclass(slots=True)
class Met:
    """What came of meeting some needs."""

    entries: list[Entry] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    answered: list[tuple[Demand, Rule]] = field(default_factory=list)
    """Each need with the rule that met it, line or no line."""
    tasks: list[Told] = field(default_factory=list)
    counted: set[str] = field(default_factory=set)
    """Items whose lines some rule counted."""


def needs(family: Family, site: Site, job: str, met: Met) -> Iterator[Demand]:
    """Every need of the stacks for a job; what cannot be counted is noted in `met`."""
    asked, standing = site.for_job(job), site.for_job("new")
    for source in sources(family):
        if arises(source.need, job):
            # What stands is the same whatever the job is: an expansion compares two of them.
            at = standing if source.need.kind == STANDING else asked
            yield from raised_by(source, family, at, met)


def raised_by(source: Source, family: Family, site: Site, met: Met) -> list[Demand]:
    """The needs of one source."""
    try:
        return list(source.demands(family, site))
    except CannotCount as error:
        met.problems.append(Problem("cannot count", source.need.name, str(error), None))
    except UnknownInput as unknown:
        name = source.need.name
        bare = Demand(name, "", (name, "", "system"), 1, {}, "", "")
        met.open.append(Open(unknown.axis, bare))
    return []


def meet(
    family: Family,
    site: Site,
    demands: Iterable[Demand],
    met: Met,
    follow: Callable[[Demand, Demand], bool] | None = None,
) -> Met:
    """Meets the needs in the order in which rules can be counted; fills and returns `met`.
    `follow` (parent, raised): whether a raised need is looked at; without it all are."""
    meeting = _Meeting(family, site, met, follow)
    for demand in demands:
        meeting.push(demand)
    while meeting.waiting:
        meeting.pop()
    return met


class _Meeting:
    """One run over needs that wait for their rule's turn."""

    def __init__(
        self,
        family: Family,
        site: Site,
        met: Met,
        follow: Callable[[Demand, Demand], bool] | None,
    ) -> None:
        self.follow = follow
        self.family = family
        self.site = site
        self.standing = site.for_job("new")
        self.met = met
        self.waiting: list[tuple[int, int, Demand, Rule, Scope]] = []
        self.pushed = 0
        self.totals: dict[str, dict[str, int]] = {}
        """Item -> step -> base units so far."""
        self.pieces: dict[tuple[str, str, str], int] = {}
        """(of, place, item) -> pieces so far."""

    def push(self, demand: Demand) -> None:
        """Finds the one rule for a need and lets it wait for its turn."""
        scope = Scope(self._site(demand), demand.measures)
        try:
            candidates = self.family.rules_for(demand.need, demand.of)
            fitting = [
                found for found in candidates if not found[1].when or holds(found[1].when, scope)
            ]
        except UnknownInput as unknown:
            self.met.open.append(Open(unknown.axis, demand))
            return
        if len(fitting) != 1:
            self.met.problems.append(_not_once(demand, [rule.name for _, rule in fitting]))
            return
        place, rule = fitting[0]
        self.pushed += 1
        heapq.heappush(self.waiting, (place, self.pushed, demand, rule, scope))

    def pop(self) -> None:
        """Counts the next need whose rule rests on nothing still waiting."""
        _, _, demand, rule, scope = heapq.heappop(self.waiting)
        counted = demand._replace(number=1) if rule.once else demand
        beside = partial(self._beside, demand)
        task = Task(counted, scope, self.family.book, self._lines, beside)
        try:
            found = rule.counting.count(task)
            tells: Callable[[Task], list[str]] | None = getattr(rule.counting, "tells", None)
            words = [*filter(None, [rule.task]), *(tells(task) if tells is not None else ())]
        except CannotCount as error:
            problem = Problem("cannot count", rule.name, f"{told(demand)}: {error}", demand)
            self.met.problems.append(problem)
            return
        except UnknownInput as unknown:
            self.met.open.append(Open(unknown.axis, demand))
            return
        self.met.answered.append((demand, rule))
        for sentence in words:
            self._tell(sentence, demand, rule)
        for given in found:
            self._give(given, demand, rule)

    def _site(self, demand: Demand) -> Site:
        """What stands is the same whatever the job is, and so is all that its hardware raises."""
        return self.standing if NEEDS[demand.root[0]].kind == STANDING else self.site

    def _lines(self, item: str) -> list[tuple[str, int]]:
        self.met.counted.add(item)
        return list(self.totals.get(item, {}).items())

    def _beside(self, demand: Demand, item: str) -> int:
        where = demand.root[1:]
        # Its lines are asked for too: the family check works out together what it sees counted.
        there = self._lines(item)
        for held in self.met.open:
            if held.demand.root[1:] == where and self._may_give(held.demand, item):
                raise UnknownInput(held.axis)
        return self.pieces.get((*where, item), 0) if there else 0

    def _may_give(self, demand: Demand, item: str) -> bool:
        rules = self.family.rules_for(demand.need, demand.of)
        return any(item in rule.counting.items() for _, rule in rules)

    def _tell(self, sentence: str, demand: Demand, rule: Rule) -> None:
        step = rule.step or demand.step
        if self._has(step):
            self.met.tasks.append(Told(step, sentence, rule, demand))
            return
        wanted = f"a step of the job for the task {sentence!r}"
        message = f"{told(demand)}: expected {wanted}, got {step or 'nothing'}"
        self.met.problems.append(Problem("no step", rule.name, message, demand))

    def _has(self, step: str) -> bool:
        """Whether the job has the step: a line of any other would be on no list."""
        return step in IN_EVERY_JOB or step in order(str(self.site.read("job")))

    def _give(self, given: Given, demand: Demand, rule: Rule) -> None:
        step = given.step or rule.step or demand.step
        kind = ""
        if not self._has(step):
            kind, wanted, wrong = (
                "no step",
                f"a step of the job for {given.item}",
                step or "nothing",
            )
        elif not 0 < given.quantity <= LARGEST_LINE:
            kind, wanted, wrong = "quantity", "a quantity of 1 or more", str(given.quantity)
        if kind:
            message = f"{told(demand)}: expected {wanted}, got {wrong}"
            self.met.problems.append(Problem(kind, rule.name, message, demand))
            return
        words = joined(demand.words, given.words, ONCE if rule.once else "")
        entry = Entry(given.item, given.quantity, given.pieces, step, rule, demand, words)
        self.met.entries.append(entry)
        steps = self.totals.setdefault(given.item, {})
        before = steps.get(step, 0)
        steps[step] = max(before, given.quantity) if rule.once else before + given.quantity
        item = self.family.items[given.item]
        pieces = len(given.pieces) if item.unit == "mm" else given.quantity
        where = (*demand.root[1:], given.item)
        self.pieces[where] = self.pieces.get(where, 0) + pieces
        carried = {**_of_item(item), **given.carries}
        parent = demand
        if carried:
            parent = demand._replace(measures={**demand.measures, **carried})
        for raised in item.raises:
            self._raise(parent, _raised(raised, pieces * raised.count, item, parent, step))
        for raised in given.raises:
            words = f"{raised.count} for {item.name}"
            self._raise(parent, _raised(raised, raised.count, item, parent, step, words))
        if item.thread and demand.need == "enter cable" and "hole" in demand.measures:
            seat = Raise("fit in hole", f"{item.thread} in {demand.measures['hole']}", 1)
            self._raise(parent, _raised(seat, pieces, item, parent, step))

    def _raise(self, parent: Demand, demand: Demand) -> None:
        if self.follow is None or self.follow(parent, demand):
            self.push(demand)


def _of_item(item: FamilyItem) -> Measures:
    """What the ends of a cable or conduit are chosen by."""
    copper = item.conductor
    if copper is not None:
        return {"core": copper.core, "strands": copper.stranding}
    return {"trade": item.trade} if item.trade else {}


def _raised(
    raised: Raise, count: int, item: FamilyItem, parent: Demand, step: str, words: str = ""
) -> Demand:
    words = words or f"{count // raised.count} {item.name} x {raised.count} = {count}"
    need, of, carried = raised.need, raised.of, parent.measures
    return Demand(need, of, parent.root, count, carried, words, step, item.code)


def _not_once(demand: Demand, names: list[str]) -> Problem:
    if not names:
        return Problem("unmet", demand.need, f"no rule meets: {told(demand)}", demand)
    listed = " and ".join(names)
    return Problem("overlap", listed, f"{listed} both meet: {told(demand)}", demand)


def told(demand: Demand) -> str:
    """A need with its part, and where it arises.

    >>> told(Demand("cover", "front", ("cover", "front", "stack 1"), 2, {}, "", ""))
    'cover: front (stack 1)'
    """
    part = f": {demand.of}" if demand.of else ""
    return f"{demand.need}{part} ({demand.root[2]})"
