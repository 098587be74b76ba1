"""Proves over every legal configuration in bounds that each need is met exactly once.

The space is split by source of needs: what a source and all its hardware come to hangs only on the
questions that were *seen to be read* while they were worked out, so only those are walked (each
answer of a choice; a number at every break point, just beside it, and at the bounds). Nothing is
sampled. A question never read in any of these cannot change the outcome. A fault counts only where
some legal configuration has it; that one is the counter-example.
"""

import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from kitting.plan import space
from kitting.plan.family import Family
from kitting.plan.limits import Limit
from kitting.plan.meeting import Met, Problem, meet, raised_by
from kitting.plan.needs import REMOVAL, STANDING
from kitting.plan.site import SHAPE
from kitting.plan.space import Chosen
from kitting.plan.steps import JOBS
from kitting.plan.topology import Source, sources

MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class Found:
    """One fault with the smallest configuration that has it."""

    kind: str
    """unmet, overlap, cannot count, no step, quantity, idle"""
    rule: str
    message: str
    example: dict[str, object] | None
    """A configuration file; None for a rule that never meets anything."""

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
    evaluated: int = 0
    """Combinations worked out."""
    seconds: float = 0.0
    ways: dict[str, int] = field(default_factory=dict)
    """Way -> rules that use it."""
    needs: Counter[str] = field(default_factory=Counter)
    """Need -> times it was met or missed in the walk."""
    faults: list[Found] = field(default_factory=list)

    def as_json(self) -> dict[str, object]:
        """The proof as data."""
        worst = min(self.faults, key=Found.weight, default=None)
        return {
            "configurations": self.configurations,
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
        for job in _jobs(source):
            checking.walk(source, job)
    checking.idle()
    proof = checking.proof
    proof.faults.sort(key=Found.weight)
    proof.configurations = space.size(family)
    proof.ways = dict(Counter(rule.way for rule in family.rules))
    proof.seconds = time.perf_counter() - started
    return proof


def _jobs(source: Source) -> Sequence[str]:
    """The jobs under which a source is worked out; what stands is the same in every job."""
    if source.need.kind == STANDING:
        return ("new",)
    return ("removal",) if source.need.kind == REMOVAL else JOBS


class _Checking:
    """One check of one family."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.proof = Proof()
        self.used: set[str] = set()
        """Rules that met something."""
        self.known: set[tuple[str, str, str]] = set()
        """Faults that already have their example."""
        self.reads = {id(limit): space.reads(family, limit) for limit in family.limits}

    def walk(self, source: Source, job: str) -> None:
        """Walks the questions that the source is seen to read, until no walk reads a new one."""
        order: list[str] = []
        while True:
            wider = self._walk(source, job, order)
            if wider == order:
                return
            order = wider

    def _walk(self, source: Source, job: str, order: list[str]) -> list[str]:
        for chosen in space.walk(self.family, order):
            site = space.site(self.family, chosen, job)
            site.seen = set()
            met = Met()
            meet(self.family, site, raised_by(source, self.family, site, met), met)
            # Before any judgement: an answer that was read but is not walked makes this walk too
            # narrow.
            seen = {name for name in site.seen if name == SHAPE or name in self.family.axes}
            wider = space.in_turn(self.family, seen | set(order))
            if wider != order:
                return wider
            self._note(met, chosen, job, order)
        return order

    def _note(self, met: Met, chosen: Chosen, job: str, order: list[str]) -> None:
        self.proof.evaluated += 1
        for demand, rule in met.answered:
            self.proof.needs[demand.need] += 1
            self.used.add(rule.name)
        for problem in met.problems:
            if problem.demand is not None:
                self.proof.needs[problem.demand.need] += 1
            self._fault(problem, chosen, job, order)

    def _fault(self, problem: Problem, chosen: Chosen, job: str, order: list[str]) -> None:
        part = problem.demand.of if problem.demand is not None else ""
        key = (problem.kind, problem.rule, part)
        if key in self.known or len(self.proof.faults) >= MOST_FAULTS:
            return
        whole = self._completed(chosen, order)
        if whole is None:
            return
        self.known.add(key)
        example = space.as_json(self.family, whole, job)
        if job == "expansion":
            example["before"] = {"stacks": example["stacks"]}
        if job == "swap":
            example["swap"] = [{"stack": 1, "level": 1}]
        found = Found(problem.kind, problem.rule, problem.message, example)
        self.proof.faults.append(found)

    def _completed(self, chosen: Chosen, order: list[str]) -> Chosen | None:
        """The smallest legal configuration that has these answers; None where none is legal."""
        held = set(order)
        decided = [limit for limit in self.family.limits if self.reads[id(limit)] <= held]
        site = space.site(self.family, chosen)
        if not space.legal(self.family, site, decided):
            return None
        rest = [limit for limit in self.family.limits if limit not in decided]
        wanted = set().union(*(self.reads[id(limit)] for limit in rest)) if rest else set()
        return next(self._legal(chosen, space.in_turn(self.family, wanted | held), rest), None)

    def _legal(self, chosen: Chosen, order: list[str], rest: list[Limit]) -> Iterator[Chosen]:
        for whole in space.walk(self.family, order, chosen):
            site = space.site(self.family, whole)
            if space.legal(self.family, site, rest):
                yield whole

    def idle(self) -> None:
        """A rule that never meets anything is a fault: taken out, nobody would miss it."""
        for rule in self.family.rules:
            if rule.name not in self.used and not self.proof.faults:
                message = f"{rule.name} meets no need in any configuration"
                self.proof.faults.append(Found("idle", rule.name, message, None))


def is_whole(family: Family) -> bool:
    """Whether every legal configuration has each need met exactly once."""
    return not check(family).faults
