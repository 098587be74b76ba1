"""An open question released with the lines of each of its answers: what is not used comes back.

Only where no answer can do harm: a question on which a limit, a barred mix or a protective device
hangs must be answered first.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from kitting.plan.configuration import Configuration
from kitting.plan.lines import Alternative, Line
from kitting.plan.meeting import Open
from kitting.plan.open_questions import Answer, Unresolved

PROTECTING: Final = "protect and isolate"


@dataclass(frozen=True, slots=True)
class Both:
    """What became of the open questions."""

    lines: tuple[Line, ...]
    """The kit's lines with those of every answer, marked as alternatives."""
    taken: tuple[Unresolved, ...]
    """Questions that travel with all their answers."""
    open: tuple[Unresolved, ...]
    """Questions still to be answered."""
    refused: tuple[tuple[str, str], ...]
    """(question, why it must be answered first)."""


def of(
    configuration: Configuration,
    asked: Sequence[Unresolved],
    opened: Iterable[Open],
    lines: Iterable[Line],
) -> Both:
    """The questions that the configuration wants to take both ways, taken."""
    protecting = {found.axis for found in opened if found.demand.root[0] == PROTECTING}
    wanted = [one for one in asked if one.axis in configuration.take_both]
    refused = [(one.axis, why) for one in wanted for why in _against(one, protecting)]
    barred = {axis for axis, _ in refused}
    taken = tuple(one for one in wanted if one.axis not in barred)
    return Both(
        tuple(_merged(lines, taken)),
        taken,
        tuple(one for one in asked if one not in taken),
        tuple(refused),
    )


def may(question: Unresolved) -> bool:
    """Whether a page may offer to take a question both ways; the kit decides again."""
    return bool(question.axis and question.answers) and not any(_against(question, set()))


def _against(question: Unresolved, protecting: set[str]) -> Iterator[str]:
    """Every reason why a question must be answered first."""
    for limit in question.first:
        yield f"answer it first: {limit}"
    needs = {*question.needs}
    for answer in question.answers:
        needs.update(reason.need for line in answer.lines for reason in line.reasons)
    if question.axis in protecting or any(need.split(":")[0] == PROTECTING for need in needs):
        yield "answer it first: a device that protects or isolates hangs on it"
    also = dict.fromkeys(axis for answer in question.answers for axis in answer.also)
    if also:
        yield f"answer it first: {', '.join(also)} hangs together with it"
    if not any(not answer.refused for answer in question.answers):
        yield "no answer to it can be met"


def _merged(lines: Iterable[Line], taken: Iterable[Unresolved]) -> list[Line]:
    found = {(line.item, line.step): line for line in lines}
    for question in taken:
        for key, line in _most(question).items():
            known = found.get(key)
            found[key] = line if known is None else known.joined(line)
    return list(found.values())


def _most(question: Unresolved) -> dict[tuple[str, str], Line]:
    """Item and step -> the most that any one answer takes, with what each answer takes."""
    possible = [answer for answer in question.answers if not answer.refused]
    most: dict[tuple[str, str], Line] = {}
    for answer in possible:
        for line in answer.lines:
            key, marked = (line.item, line.step), _marked(answer, line)
            most[key] = _more(most[key], marked) if key in most else marked
    return {
        key: replace(line, alternatives=tuple(_each(question.axis, possible, key)))
        for key, line in most.items()
    }


def _marked(answer: Answer, line: Line) -> Line:
    reasons = tuple(
        reason._replace(arithmetic=f"only if it is {answer.answer}: {reason.arithmetic}")
        for reason in line.reasons
    )
    return replace(line, reasons=reasons)


def _each(axis: str, answers: Iterable[Answer], key: tuple[str, str]) -> Iterator[Alternative]:
    for answer in answers:
        taken = sum(line.quantity for line in answer.lines if (line.item, line.step) == key)
        yield Alternative(axis, answer.answer, taken)


def _more(one: Line, other: Line) -> Line:
    pieces = tuple((Counter(one.pieces) | Counter(other.pieces)).elements())
    quantity = sum(pieces) if pieces else max(one.quantity, other.quantity)
    reasons = tuple(dict.fromkeys((*one.reasons, *other.reasons)))
    return replace(one, quantity=quantity, pieces=pieces, reasons=reasons)
