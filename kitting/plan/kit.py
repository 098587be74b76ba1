"""The kit: every line with its reasons, what is refused, what is still open, what comes back."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Final

from kitting.plan import (
    cautions,
    expansion,
    joining,
    limits,
    lookup,
    open_questions,
    removal,
    revisions,
    swap,
    take_both,
    tasks,
)
from kitting.plan.cautions import Caution
from kitting.plan.charge import Charge
from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.lines import Line, Move, in_order, lines_of
from kitting.plan.meeting import Met, meet, needs
from kitting.plan.open_questions import Unresolved
from kitting.plan.site import Site, UnknownInput
from kitting.plan.steps import Step, order
from kitting.plan.tasks import Task

ENGINE: Final = "3"
"""Raised whenever the same edition and configuration would give another kit."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason why there is no kit."""

    rule: str
    """The limit or rule at fault, or the need that nothing meets."""
    message: str


@dataclass(frozen=True, slots=True)
class Answered:
    """A need that takes no line, and why."""

    need: str
    of: str
    rule: str
    why: str


@dataclass(frozen=True, slots=True)
class Kit:
    """All that follows from one edition and one configuration."""

    family: str
    edition: str
    """ISO date of the edition."""
    edition_hash: str
    """SHA-256 of the edition's text."""
    configuration: Mapping[str, object]
    steps: tuple[Step, ...]
    """In the order of the job."""
    lines: tuple[Line, ...] = ()
    """What the crew takes; empty where the configuration is refused."""
    cautions: tuple[Caution, ...] = ()
    tasks: tuple[Task, ...] = ()
    """What rules tell to do at a step, beside the step's own tasks."""
    unresolved: tuple[Unresolved, ...] = ()
    refused: tuple[Refusal, ...] = ()
    comes_back: tuple[Line, ...] = ()
    """What an expansion, a swap or a removal frees."""
    renewed: tuple[Line, ...] = ()
    """Of what stood and is thrown away, replaced by lines."""
    moves: tuple[Move, ...] = ()
    """Freed and used again in the same expansion."""
    taken_both: tuple[Unresolved, ...] = ()
    """Questions that travel with the lines of each answer."""
    charge: Charge | None = None
    """Window in which a module may join those that stand; only where one joins."""
    answered: tuple[Answered, ...] = ()
    """Needs that take no line, each with its reason."""
    tables: Mapping[str, str] = field(default_factory=lookup.editions)
    """Name of each published table -> its edition."""
    engine: str = ENGINE

    def as_json(self) -> dict[str, object]:
        """The kit as data: lines, cautions, unresolved, refused, and what comes back."""
        return {
            "lines": [line.as_json() for line in self.lines],
            "cautions": [asdict(caution) for caution in self.cautions],
            "tasks": [asdict(task) for task in self.tasks],
            "unresolved": [question.as_json() for question in self.unresolved],
            "refused": [asdict(refusal) for refusal in self.refused],
            "comes_back": [line.as_json() for line in self.comes_back],
            "renewed": [line.as_json() for line in self.renewed],
            "moves": [asdict(move) for move in self.moves],
            "taken_both": [question.as_json() for question in self.taken_both],
            "charge": asdict(self.charge) if self.charge is not None else None,
            "answered": [asdict(answer) for answer in self.answered],
        }

    def as_snapshot(self) -> dict[str, object]:
        """The kit with all it was worked out from, to be kept as it is."""
        return {
            **self.as_json(),
            "family": self.family,
            "edition": self.edition,
            "edition_hash": self.edition_hash,
            "configuration": dict(self.configuration),
            "tables": dict(self.tables),
            "engine": self.engine,
        }


def work_out(family: Family, configuration: Configuration) -> Kit:
    """The kit of a configuration. Never raises: what cannot be is refused, what is not known is
    open."""
    site = configuration.site()
    keys = order(configuration.job)
    kit = Kit(
        family=family.name,
        edition=family.edition.isoformat(),
        edition_hash=family.hash,
        configuration=configuration.as_json(),
        steps=tuple(sorted(_steps(family, keys), key=lambda step: keys.index(step.key))),
    )
    unsettled: dict[str, list[str]] = {}
    mixed = (Refusal(*reason) for reason in revisions.barred(family, configuration))
    broken = [*_limits(family, site, unsettled), *mixed]
    if broken:
        return replace(kit, refused=tuple(broken))
    met = Met()
    meet(family, site, needs(family, site, configuration.job, met), met)
    if configuration.job == "swap":
        lacking = [Refusal(swap.RULE, m) for m in swap.missing(family, configuration, met)]
        if lacking:
            return replace(kit, refused=tuple(lacking))
        met = swap.concerned(family, configuration, met)
    return _filled(kit, family, configuration, met, unsettled)


def _steps(family: Family, keys: tuple[str, ...]) -> Iterator[Step]:
    return (step for step in family.steps if step.key in keys)


def _filled(
    kit: Kit,
    family: Family,
    configuration: Configuration,
    met: Met,
    unsettled: Mapping[str, list[str]],
) -> Kit:
    """The kit of a configuration that breaks no limit."""
    site = configuration.site()
    refused, check = _problems(family, met)
    if refused:
        return replace(kit, refused=tuple(refused))
    change = _change(family, configuration, met)
    keys = order(configuration.job)
    asked = open_questions.questions(family, site, met.open, unsettled)
    both = take_both.of(configuration, asked, met.open, change.lines)
    if both.refused:
        named = (Refusal("take_both", f"{axis}: {why}") for axis, why in both.refused)
        return replace(kit, refused=tuple(named))
    joins = joining.wanted(family, configuration)
    return replace(
        kit,
        lines=in_order(family, both.lines, keys),
        cautions=cautions.of(configuration.job, met, keys),
        tasks=tasks.in_order(_told(family, configuration, met), keys),
        unresolved=(*both.open, *check, *revisions.checks(family, configuration)),
        comes_back=in_order(family, change.comes_back, keys),
        renewed=in_order(family, change.renewed, keys),
        moves=change.moves,
        taken_both=both.taken,
        charge=family.charge if joins else None,
        answered=tuple(_answered(met)),
    )


def _change(family: Family, configuration: Configuration, met: Met) -> expansion.Change:
    """What the job takes and frees."""
    match configuration.job:
        case "expansion":
            return expansion.change(family, configuration, met)
        case "swap":
            return swap.change(family, configuration, met)
        case "removal":
            return removal.change(family, configuration, met)
    return expansion.Change(tuple(lines_of(family, met.entries)))


def _told(family: Family, configuration: Configuration, met: Met) -> tuple[Task, ...]:
    """Of an expansion only what was not done when the stack was first built."""
    own = (*swap.tasks(family, configuration), *joining.tasks(family, configuration))
    if not met.tasks or configuration.before is None:
        return (*own, *tasks.of(met.tasks))
    return (*own, *tasks.of(met.tasks, expansion.stood(family, configuration.before).tasks))


def _limits(family: Family, site: Site, unsettled: dict[str, list[str]]) -> Iterator[Refusal]:
    """Every broken limit; one that hangs on an unknown answer is noted as not settled."""
    for limit in family.limits:
        try:
            reason = limits.broken(limit, family, site)
        except UnknownInput as unknown:
            unsettled.setdefault(unknown.axis, []).append(limit.message)
            continue
        if reason:
            yield Refusal(limit.name, reason)


def _problems(family: Family, met: Met) -> tuple[list[Refusal], list[Unresolved]]:
    """Refusals; in a trial edition an unmet need becomes a question a person answers and signs."""
    refused: dict[str, Refusal] = {}
    check: dict[str, Unresolved] = {}
    for problem in met.problems:
        if problem.kind == "unmet" and family.status == "trial" and problem.demand is not None:
            question = open_questions.check_yourself(problem.demand)
            check.setdefault(question.question, question)
        else:
            refused.setdefault(problem.message, Refusal(problem.rule, problem.message))
    return list(refused.values()), list(check.values())


def _answered(met: Met) -> Iterable[Answered]:
    seen = set()
    for demand, rule in met.answered:
        why = getattr(rule.counting, "why", "")
        if why and (demand.of, rule.name) not in seen:
            seen.add((demand.of, rule.name))
            yield Answered(demand.need, demand.of, rule.name, why)
