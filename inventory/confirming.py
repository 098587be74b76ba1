"""A thing scanned before anybody received it: goods-in has it now, or that scan is undone again.

So too with a code that meant nothing: what it means is known by now, and that thing is seen.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Final

from django.db.models import QuerySet

from inventory.codes.serials import look_up_key
from inventory.intake import Verdict
from inventory.models import Event, Finding, Unit, UnitAlias
from inventory.moving import Writing
from inventory.rows import Question
from inventory.scanning import Thing, resolve

CONFIRMED: Final = "Goods-in has received it."
ASKED: Final = (Finding.Kind.UNKNOWN, Finding.Kind.SURPLUS)
SEEN: Final = frozenset({"applied", "noted", "problem"})  # verdicts about a thing in the hand


def not_known() -> QuerySet[Finding]:
    """Return the open problems about a code that meant nothing when it was scanned."""
    asked = Finding.objects.filter(kind=Finding.Kind.CODE, unit=None, item=None, answer=None)
    return asked.exclude(event__scan__text="")


_ASKED = Question(
    lambda: (
        not_known()
        .order_by("pk")
        .values_list("pk", "event__scan__text", "event__scan__via", "place__code")
    )
)


def ended(act: Callable[[Writing], Verdict]) -> Callable[[Writing], Verdict]:
    """Let an act that sees things end what was asked about a code that means one of them now."""

    @wraps(act)  # it is still that act, of its own house
    def and_what_was_asked(writes: Writing) -> Verdict:
        verdict = act(writes)
        if verdict.word in SEEN and writes.thing.kind not in ("unknown", "none"):
            _end(writes)
        return verdict

    return and_what_was_asked


def _end(writes: Writing) -> None:
    asked = _ASKED.tuples()
    if not asked:
        return
    seen = {writes.thing.unit, *writes.first} - {None}
    names = _names(writes, {unit.pk: unit for unit in seen if unit is not None})
    here = {look_up_key(writes.line.target)} - {""}
    for pk, text, via, at in asked:
        key = look_up_key(text)
        same = key == look_up_key(writes.line.text) or at in here
        if not same and not any(name in key for name in names):
            continue  # it is about another thing: most are told by that, without a question
        means = resolve(text, via)
        if means.kind != "unknown" and (means.unit in seen or _same(means, writes.thing)):
            finding = Finding.objects.get(pk=pk)
            writes.answer(finding, f"It is known now: {means.name}, and it was seen.")


def _names(writes: Writing, seen: dict[int, Unit]) -> set[str]:
    """What a text that means one of these has in it."""
    aliases = UnitAlias.objects.filter(unit__in=seen).values_list("key", flat=True)
    serials = {look_up_key(unit.serial) for unit in seen.values()}
    return {*aliases, *serials, *({writes.thing.place.code} if writes.thing.place else ())} - {""}


def _same(means: Thing, thing: Thing) -> bool:
    """Whether both are one box, or one kind of thing that is not followed by serial."""
    if means.place is not None:
        return means.place == thing.place
    plain = means.unit is None and thing.unit is None
    return plain and means.item is not None and means.item == thing.item


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
