"""Proves over every legal configuration in bounds that each need is met exactly once.

The space is split by source of needs: what a source and all its hardware come to hangs only on the
questions that were *seen to be read* while they were worked out, so only those are walked, and only
there (`outcomes.py`: each answer of a choice; a number at every break point, just beside it, and at
the bounds). Nothing is sampled. A question never read in an outcome cannot change it. Where a rule
counts the lines of others, the sources that were seen to give those lines are worked out with it;
else each need that the hardware raises is met without the others, and is walked by itself. A
fault counts only where some legal configuration has it; the smallest one is the counter-example.
"""

import itertools
import time
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache, partial

from kitting.plan import breakpoints, example, outcomes, rules
from kitting.plan.family import Family
from kitting.plan.given import Demand
from kitting.plan.meeting import Met, Problem, meet, raised_by
from kitting.plan.needs import STANDING, arises
from kitting.plan.outcomes import JOB, Answers, Asker
from kitting.plan.rules import Rule
from kitting.plan.site import SHAPE
from kitting.plan.space import Chosen
from kitting.plan.steps import JOBS
from kitting.plan.topology import Source, sources

MOST_FAULTS = 50
Part = tuple[str, str]
"""A need and its part."""
Fault = tuple[str, str, str]
"""Kind, rule, part: faults of one of these are one fault."""


@dataclass(frozen=True, slots=True)
class Found:
    """One fault with the smallest configuration that has it."""

    kind: str
    """unmet, overlap, cannot count, no step, quantity, idle, cannot walk"""
    rule: str
    part: str
    """Of the need; empty where it has none."""
    message: str
    example: dict[str, object] | None
    """A configuration file; None for a rule that never meets anything, and for a figure that
    cannot be walked to the millimetre."""

    def weight(self) -> int:
        """Modules of the example: the fewest is the smallest."""
        stacks = self.example["stacks"] if self.example else []
        assert isinstance(stacks, list)
        return sum(stack["modules"] for stack in stacks) or 1_000_000


@dataclass(slots=True)
class Proof:
    """What a check came to."""

    configurations: int = 0
    """Legal configurations, numbers counted at their break points."""
    discrete: int = 0
    """Legal configurations, lengths and diameters counted once."""
    evaluated: int = 0
    """Outcomes worked out."""
    seconds: float = 0.0
    ways: dict[str, int] = field(default_factory=dict)
    """Way -> rules that use it."""
    needs: Counter[str] = field(default_factory=Counter)
    """Need -> times it was met or missed in the walk."""
    faults: list[Found] = field(default_factory=list)
    users: dict[str, list[Source]] = field(default_factory=dict)
    """Rule -> the sources of needs whose outcomes were seen to use it."""
    first: dict[str, tuple[Source, Chosen]] = field(default_factory=dict)
    """Rule -> one of them, with the answers of a legal configuration in which it was used."""

    def as_json(self) -> dict[str, object]:
        """The proof as data."""
        worst = min(self.faults, key=Found.weight, default=None)
        return {
            "configurations": self.configurations,
            "discrete": self.discrete,
            "evaluated": self.evaluated,
            "seconds": round(self.seconds, 3),
            "ways": dict(sorted(self.ways.items())),
            "needs": dict(sorted(self.needs.items())),
            "faults": [{"rule": f.rule, "kind": f.kind, "message": f.message} for f in self.faults],
            "counter_example": worst.example if worst is not None else None,
        }


def check(family: Family) -> Proof:
    """Walks the family's whole space."""
    started = time.perf_counter()
    checking = _Checking(family)
    for source in sources(family):
        for _ in checking.steps(source):
            pass
    proof = checking.proof
    proof.faults = [*checking.all_faults(), *_not_walked(family)]
    proof.configurations = outcomes.size(family)
    proof.discrete = outcomes.size(family, discrete=True)
    proof.ways = dict(Counter(rule.way for rule in family.rules))
    proof.seconds = time.perf_counter() - started
    return proof


def _not_walked(family: Family) -> list[Found]:
    """Nothing is sampled: what cannot be walked whole is a fault."""
    wanted = "expected a figure over several lengths that takes the one asked last once, so that no"
    return [
        Found("cannot walk", "", "", f"{wanted} millimetre is passed over; {words}", None)
        for words in breakpoints.stepped_over(family)
    ]


def first_fault(
    family: Family, among: Collection[Source], first: tuple[Source, Chosen]
) -> Found | None:
    """The first fault that the walks of some sources come across: enough to know whether a family
    is broken where only they can have changed (`Proof.users`). It is looked for at the `first` of
    their outcomes (`Proof.first`), then in all of them. They take turns: one may be long, and the
    fault in another."""
    checking = _Checking(family)
    walks = [checking.steps(source) for source in sources(family) if source in among]
    for _ in itertools.chain(checking.steps(*first), itertools.zip_longest(*walks)):
        if checking.faults:
            break
    return next(iter(checking.faults.values()), None)


class _Checking:
    """One check of one family."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.proof = Proof()
        self.faults: dict[Fault, Found] = {}
        self.met: set[str] = set()
        """Rules that met something in a legal configuration."""
        shapes = outcomes.legal_shapes(family)
        self.least = sum(shapes[0]) if shapes else 0
        """Modules of the smallest shape."""

    def steps(self, source: Source, given: Chosen | None = None) -> Iterator[None]:
        """Walks every outcome of a source that keeps the answers given, one a step."""
        jobs = [job for job in JOBS if arises(source.need, job)]
        used: set[str] = set()
        walks = (
            outcomes.each(self.family, partial(self._outcome, source, branch), given, jobs)
            for branch in _branches(self.family, source)
        )
        for chosen, met in itertools.chain.from_iterable(walks):
            self.proof.evaluated += 1
            self._note_needs(met, source)
            new = {rule.name for _, rule in met.answered}
            used |= new
            if new - self.met and outcomes.first_legal(self.family, chosen, jobs) is not None:
                self.proof.first |= dict.fromkeys(new - self.met, (source, chosen))
                self.met |= new
            for problem in met.problems:
                self._note_fault(problem, chosen, jobs)
            yield
        for name in used:
            self.proof.users.setdefault(name, []).append(source)

    def _outcome(self, source: Source, branch: Part | None, at: Asker, found: Answers) -> Met:
        """What a source comes to, together with all whose lines are counted there; of what it
        raises itself only one branch, where one is named."""
        together = [source]
        counted: frozenset[str] = frozenset()
        while True:
            follow = partial(_follows, self.family, source, branch, counted)
            met = _met(self.family, at, together, follow)
            counted = frozenset(met.counted)
            givers = _givers(self.family, counted)
            more = [other for other in givers if other not in together]
            if not more:
                return met
            together += more

    def _note_needs(self, met: Met, source: Source) -> None:
        name, of = source.need.name, source.of
        for demand, _ in met.answered:
            if demand.root[0] == name and demand.root[1] == of:
                self.proof.needs[demand.need] += 1
        for problem in met.problems:
            if problem.demand is not None:
                self.proof.needs[problem.demand.need] += 1

    def _note_fault(self, problem: Problem, chosen: Chosen, jobs: Sequence[str]) -> None:
        part = problem.demand.of if problem.demand is not None else ""
        key = (problem.kind, problem.rule, part)
        known = self.faults.get(key)
        shape = chosen.get(SHAPE)
        least = sum(shape) if isinstance(shape, tuple) else self.least
        if known.weight() <= least if known else len(self.faults) >= MOST_FAULTS:
            return
        whole = outcomes.first_legal(self.family, chosen, jobs)
        if whole is None:
            return
        job = str(whole.get(JOB, jobs[0]))
        shown = example.of(self.family, whole, job, problem.message)
        if shown is None:
            return
        found = Found(*key, problem.message, shown)
        if known is None or found.weight() < known.weight():
            self.faults[key] = found

    def all_faults(self) -> list[Found]:
        """The smallest first. A rule that never meets anything is a fault where there is no other:
        taken out, nobody would miss it."""
        for rule in self.family.rules if not self.faults else ():
            if rule.name not in self.met:
                message = f"{rule.name} meets no need in any configuration"
                key = ("idle", rule.name, "")
                self.faults[key] = Found(*key, message, None)
        return sorted(self.faults.values(), key=Found.weight)


def _met(
    family: Family, at: Asker, together: Sequence[Source], follow: Callable[[Demand, Demand], bool]
) -> Met:
    """Sources worked out together, those that arise in the job."""
    met = Met()
    demands: list[Demand] = []
    for source in together:
        if source is together[0] or _there(source, at):
            # What stands is the same whatever the job is.
            seen = at.for_job("new") if source.need.kind == STANDING else at
            demands += raised_by(source, family, seen, met)
    return meet(family, at, demands, met, follow)


def _there(source: Source, at: Asker) -> bool:
    """Whether its need arises in the job, which is only asked where that makes a difference."""
    ever = {arises(source.need, job) for job in at.found.jobs}
    return ever.pop() if len(ever) == 1 else arises(source.need, str(at.read(JOB)))


@lru_cache(maxsize=256)
def _givers(family: Family, items: frozenset[str]) -> tuple[Source, ...]:
    """The sources that may give some of these items."""
    if not items:
        return ()
    return tuple(
        one
        for one in sources(family)
        if not items.isdisjoint(_may_give(family, (one.need.name, one.of)))
    )


@lru_cache(maxsize=4096)
def _reach(family: Family, part: Part) -> tuple[Rule, ...]:
    """Every rule that may have to meet a need or something it raises, at any depth."""
    found: dict[str, Rule] = {}
    seen = {part}
    waiting = [part]
    while waiting:
        for _, rule in family.rules_for(*waiting.pop()):
            found[rule.name] = rule
            for raised in rules.raised(rule, family.book):
                if raised not in seen:
                    seen.add(raised)
                    waiting.append(raised)
    return tuple(found.values())


@lru_cache(maxsize=4096)
def _may_give(family: Family, part: Part) -> frozenset[str]:
    """Every item that a need can come to, by any rule and at any depth."""
    return frozenset(code for rule in _reach(family, part) for code in rule.counting.items())


def _branches(family: Family, source: Source) -> Sequence[Part | None]:
    """What a source itself can raise, each walked by itself: needs are met one without the other.
    (None,), all at once, where some line is counted on the way."""
    part = (source.need.name, source.of)
    if any(rule.counting.counted() for rule in _reach(family, part)):
        return (None,)
    own = (rule for _, rule in family.rules_for(*part))
    return sorted({one for rule in own for one in rules.raised(rule, family.book)}) or (None,)


def _follows(
    family: Family,
    source: Source,
    branch: Part | None,
    counted: frozenset[str],
    parent: Demand,
    raised: Demand,
) -> bool:
    """Whether a raised need is looked at here. Of another source only what may give a line that is
    counted: the rest is walked where it is the source's own."""
    own = (source.need.name, source.of)
    part = (raised.need, raised.of)
    if parent.root[:2] != own:
        return not counted.isdisjoint(_may_give(family, part))
    return branch is None or (parent.need, parent.of) != own or part == branch


def is_whole(family: Family) -> bool:
    """Whether every legal configuration has each need met exactly once."""
    return not check(family).faults
