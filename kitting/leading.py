"""A lead lets a stopped scan through: a PIN, a reason, once; the manager sees it afterwards.

The PIN never stands in an event. It is asked on a page, which keeps the lead's word beside the
event that stopped; the same code scanned again for the same kit then goes on. What a recall names
or another kit has is not a lead's to let through; what is merely odd needs none (see hand_wins).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import QuerySet

from inventory.badges import badge_of
from inventory.intake import Verdict
from inventory.lock import writing
from inventory.models import Event, Finding, Person, Role
from inventory.moving import CannotMove, Writing
from kitting.models import LeadPin, LeadWord, LeadWordUsed

HOLDS = timedelta(minutes=10)  # a word that nobody used by then is over
TRIES = 5  # wrong PINs in a row; then a manager gives a new one
PIN = re.compile(r"[0-9]{4,8}")
STEPS = frozenset({"pick", "load"})  # what is done at the bench


class LeadError(ValueError):
    """A word that cannot be given; the message says what was expected."""


def give(person: Person, pin: str, by: Person) -> None:
    """Make a person a lead with this PIN, or, with none, a lead no more. Raises LeadError."""
    if pin and not PIN.fullmatch(pin):
        raise LeadError("expected a PIN of 4 to 8 digits")
    if pin and not person.has(Role.WAREHOUSE, Role.MANAGER):
        raise LeadError(f"expected somebody of the warehouse or the office, got {person.name}")
    with writing():
        if not pin:
            LeadPin.objects.filter(person=person).delete()
            return
        given = {"pin": make_password(pin), "wrong": 0, "by": by}
        LeadPin.objects.update_or_create(person=person, defaults=given)


def leads() -> QuerySet[LeadPin]:
    """Return who may let a stopped scan through, by name; not who has left."""
    found = LeadPin.objects.filter(person__is_active=True).select_related("person", "by")
    return found.order_by("person__name")


def said() -> QuerySet[LeadWord]:
    """Return what leads let through, newest first."""
    words = LeadWord.objects.select_related("lead", "by", "stopped__scan", "used__event")
    return words.order_by("-pk")


def stopped(uid: str) -> Event | None:
    """Return the scan of the bench that this id names, if a gate stopped it."""
    try:
        found = Event.objects.filter(uid=UUID(uid), step__in=STEPS, scan__isnull=False)
    except ValueError:
        return None
    event = found.select_related("scan").first()
    latest = event.outcomes.order_by("-number").first() if event is not None else None
    return event if latest is not None and latest.verdict == "stopped" else None


def say(event: Event, lead: Person, pin: str, reason: str, by: Person, now: datetime) -> LeadWord:
    """A lead lets the scan of a stopped event through, once. Raises LeadError.

    by: who is signed in where it was said.
    """
    right = _is_right(lead, pin)
    if not right:
        raise LeadError("That is not this lead's PIN")
    if not reason.strip():
        raise LeadError("expected the reason, got nothing")
    with writing():
        return LeadWord.objects.create(
            stopped=event, lead=lead, reason=reason.strip()[:120], by=by, at=now
        )


def _is_right(lead: Person, pin: str) -> bool:
    """Each wrong PIN counts, so that nobody guesses. Raises LeadError where too many were."""
    with writing():
        kept = LeadPin.objects.filter(person=lead, person__is_active=True).first()
        if kept is None:
            return False
        if kept.wrong >= TRIES:
            raise LeadError(f"{TRIES} wrong PINs in a row: a manager gives a new one")
        right = check_password(pin, kept.pin)
        LeadPin.objects.filter(pk=kept.pk).update(wrong=0 if right else kept.wrong + 1)
        return right


@dataclass
class _Hearing:
    """One scan before the gates."""

    writes: Writing
    passed: list[str] = field(default_factory=list)  # what would have stopped it

    def word(self) -> LeadWord | None:
        """The word that was given for this scan and not used yet."""
        line, now = self.writes.line, self.writes.event.received_at
        words = LeadWord.objects.filter(
            stopped__step=line.step,
            stopped__subject=line.subject,
            stopped__scan__text=line.text,
            at__gte=now - HOLDS,
            used=None,
        )
        return words.select_related("lead").order_by("-pk").first()


_hearing: ContextVar[_Hearing | None] = ContextVar("hearing", default=None)


def stop(words: str) -> None:
    """Stop a person, unless a lead let this very scan through. Raises CannotMove."""
    hearing = _hearing.get()
    if hearing is None or hearing.word() is None:
        raise CannotMove(words)
    hearing.passed.append(words)


def heard(act: Callable[[Writing], Verdict]) -> Callable[[Writing], Verdict]:
    """Let an act of the bench go on where a lead said so; a problem tells the manager."""

    def before_the_gates(writes: Writing) -> Verdict:
        hearing = _Hearing(writes)
        token = _hearing.set(hearing)
        try:
            verdict = act(writes)
        finally:
            _hearing.reset(token)
        word = hearing.word() if hearing.passed else None
        if word is None or verdict.word not in ("applied", "problem"):
            return verdict  # nothing moved: the word stands for the next scan
        LeadWordUsed.objects.create(word=word, event=writes.event)
        told = f"Let through by the lead with the badge {badge_of(word.lead)}: {word.reason}."
        thing = writes.thing
        writes.finding(
            Finding.Kind.WRONG,
            f"{told} It was stopped: {hearing.passed[0]}.",
            unit=thing.unit,
            item=thing.item,
        )
        return Verdict("problem", f"{verdict.sentence} Let through by a lead: {word.reason}.")

    return before_the_gates
