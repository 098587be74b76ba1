"""A person who looked answers a problem: what was found, what was done about it.

What an act of its own answers stays with that act: a bin is counted, an empty one is filled.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from inventory import teaching
from inventory.intake import Act, Verdict
from inventory.models import Finding, Role
from inventory.moving import CannotMove, Writing

PREFIX: Final = "problem"  # of the subject; behind it the id of the event that opened it
ITSELF: Final = {
    Finding.Kind.COUNT: "Count it there: the count answers this",
    Finding.Kind.REFILL: "Fill the bin: what is put there answers this",
    Finding.Kind.BOX: "Open another box and count in it: that answers this",
}
Asks = Callable[[Sequence[Finding]], Mapping[int, str]]
_ASKED: list[Asks] = []


def register(asks: Asks) -> None:
    """Let `asks` say which of these problems cannot be answered by hand: id -> what answers it."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def answered_otherwise(findings: Sequence[Finding]) -> dict[int, str]:
    """Return id of a problem -> what answers it, of those that no word of a person can."""
    found = {one.pk: ITSELF[kind] for one in findings if (kind := Finding.Kind(one.kind)) in ITSELF}
    for one in findings:
        if one.event.step == teaching.STEP and one.item_id is not None and one.unit_id is None:
            found[one.pk] = "Say whether the code is right: that answers this"
    for asks in _ASKED:
        found |= asks(findings)
    return found


def settle(writes: Writing) -> Verdict:
    """Answer the problem that the subject names, "problem:" and its event's id; reason: what was
    found or done. number: which of the event's problems, the first without one."""
    finding, words = _finding(writes), writes.line.reason.strip()
    if hasattr(finding, "answer"):
        return Verdict("noted", f"Answered before: {finding.answer.words}")
    if not words:
        raise CannotMove("Say what was found, or what was done about it")
    otherwise = answered_otherwise([finding])
    if otherwise:
        raise CannotMove(otherwise[finding.pk])
    writes.answer(finding, words)
    return Verdict("applied", f"Answered: {words.rstrip('.')}.")


def _finding(writes: Writing) -> Finding:
    prefix, _, event = writes.line.subject.partition(":")
    try:
        found = list(Finding.objects.filter(event__uid=uuid.UUID(event)).order_by("pk"))
    except ValueError:
        found = []
    which = writes.line.number or 1
    if prefix != PREFIX or not 1 <= which <= len(found):
        raise CannotMove("Say which problem this is about")
    return found[which - 1]


SETTLE = Act("settle", frozenset({Role.MANAGER}), settle)
