"""A thing scanned before anybody received it: goods-in has it now, or that scan is undone again."""

from __future__ import annotations

from typing import Final

from inventory.models import Event, Finding, Unit
from inventory.moving import Writing

CONFIRMED: Final = "Goods-in has received it."
ASKED: Final = (Finding.Kind.UNKNOWN, Finding.Kind.SURPLUS)


def confirm(writes: Writing, unit: Unit) -> None:
    """What was asked about a thing that nobody had received is answered."""
    _set(unit, provisional=False)
    for finding in unit.findings.filter(kind__in=ASKED, answer=None).order_by("pk"):
        writes.answer(finding, CONFIRMED)


def undone(done: Event) -> None:
    """The scan that confirmed a thing is undone: nobody has received it."""
    for answer in done.answers.filter(words=CONFIRMED).select_related("finding__unit"):
        if answer.finding.unit is not None:
            _set(answer.finding.unit, provisional=True)


def _set(unit: Unit, *, provisional: bool) -> None:
    unit.provisional = provisional
    Unit.objects.filter(pk=unit.pk).update(provisional=provisional)
