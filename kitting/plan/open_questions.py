"""What hangs on an answer still unknown: the question, and the lines of each possible answer."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.plan import breakpoints, limits
from kitting.plan.asking import question
from kitting.plan.axes import Axis
from kitting.plan.family import Family
from kitting.plan.given import Demand
from kitting.plan.lines import Line, lines_of
from kitting.plan.meeting import Met, Open, meet
from kitting.plan.site import Site, UnknownInput


@dataclass(frozen=True, slots=True)
class Answer:
    """One possible answer and what it would take."""

    answer: str
    """A value as people say it: "solid", or "7.1 mm to 12 mm"."""
    lines: tuple[Line, ...]
    refused: tuple[str, ...]
    """Why this answer cannot stand, as it would break a limit or nothing fits."""
    also: tuple[str, ...]
    """Further questions that must be answered with it."""


@dataclass(frozen=True, slots=True)
class Unresolved:
    """One open question; with no axis, something a person checks and signs."""

    axis: str
    question: str
    needs: tuple[str, ...]
    """What hangs on it."""
    answers: tuple[Answer, ...]
    first: tuple[str, ...]
    """Limits that hang on it: it must be answered before the kit is released."""

    def as_json(self) -> dict[str, object]:
        """The question as data."""
        return {
            "axis": self.axis,
            "question": self.question,
            "needs": list(self.needs),
            "answers": [
                {
                    "answer": answer.answer,
                    "lines": [line.as_json() for line in answer.lines],
                    "refused": list(answer.refused),
                    "also": list(answer.also),
                }
                for answer in self.answers
            ],
            "first": list(self.first),
        }


def check_yourself(demand: Demand) -> Unresolved:
    """An unmet need of a trial edition, as a question to a person."""
    part = f": {demand.of}" if demand.of else ""
    asked = question(demand.need, demand.of)
    words = f"check yourself: {asked[:1].lower()}{asked[1:]}"
    return Unresolved("", words, (demand.need + part,), (), ())


def questions(
    family: Family, site: Site, opened: Sequence[Open], unsettled: Mapping[str, list[str]]
) -> tuple[Unresolved, ...]:
    """One question for each unknown answer that something hangs on."""
    wanted = dict.fromkeys([*(found.axis for found in opened), *unsettled])
    return tuple(
        _question(family, site, axis, [o.demand for o in opened if o.axis == axis], unsettled)
        for axis in wanted
    )


def _question(
    family: Family,
    site: Site,
    axis: str,
    demands: list[Demand],
    unsettled: Mapping[str, list[str]],
) -> Unresolved:
    named = dict.fromkeys(d.need + (f": {d.of}" if d.of else "") for d in demands)
    answers = tuple(_answers(family, site, axis, demands))
    question = family.axes[axis].plain
    return Unresolved(axis, question, tuple(named), answers, tuple(unsettled.get(axis, ())))


def _answers(family: Family, site: Site, axis: str, demands: list[Demand]) -> Iterator[Answer]:
    """Neighbouring values with the same outcome are one answer."""
    held: tuple[str, str, Answer] | None = None
    for first, last, value in breakpoints.stretches(family, axis, site.answers):
        answer = _answer(family, site.having(axis, value), demands)
        if held is not None and _same(held[2], answer):
            held = (held[0], last, held[2])
            continue
        if held is not None:
            yield _named(family.axes[axis], *held)
        held = (first, last, answer)
    if held is not None:
        yield _named(family.axes[axis], *held)


def _answer(family: Family, site: Site, demands: list[Demand]) -> Answer:
    met = meet(family, site, demands, Met())
    reasons = [problem.message for problem in met.problems]
    for limit in family.limits:
        try:
            reasons += filter(None, [limits.broken(limit, family, site)])
        except UnknownInput as unknown:
            met.open.append(Open(unknown.axis, demands[0])) if demands else None
    also = tuple(dict.fromkeys(found.axis for found in met.open))
    return Answer("", tuple(lines_of(family, met.entries)), tuple(dict.fromkeys(reasons)), also)


def _same(one: Answer, other: Answer) -> bool:
    return (_taken(one), bool(one.refused), one.also) == (
        _taken(other),
        bool(other.refused),
        other.also,
    )


def _taken(answer: Answer) -> list[tuple[str, str, int]]:
    return [(line.item, line.step, line.quantity) for line in answer.lines]


def _named(axis: Axis, first: str, last: str, answer: Answer) -> Answer:
    low, high = (axis.shown(text) for text in (first, last))
    name = low if first == last else f"{low} to {high}"
    return Answer(name, answer.lines, answer.refused, answer.also)
