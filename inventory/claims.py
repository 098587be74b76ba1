"""Claims on suppliers and carriers: opened by what went wrong, each with the partner's own clocks.

The only writer of claims. How long one has is data of each partner; what law says where terms say
nothing is told on the page: CMR (1956) article 30: what can be seen is noted at the door, what
cannot within seven days, Sundays and holidays apart (they are counted here, so we are never late).
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.db.models import QuerySet

from inventory.intake import Act, Verdict
from inventory.models import (
    Claim,
    ClaimDue,
    ClaimStep,
    Delivery,
    Event,
    How,
    Outcome,
    Partner,
    Role,
)
from inventory.moving import CannotMove, Writing

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
ENDS = {
    "credited": "credited",
    "replaced": "replaced",
    "found": "it was found",
    "refused": "refused by them",
    "dropped": "dropped by us",
}


def open_claim(
    writes: Writing, delivery: Delivery, partner: Partner, about: str, words: str
) -> Claim:
    """Open a claim; its clocks run from the moment the delivery's boxes were counted."""
    begun = counted_at(delivery) or writes.event
    claim = Claim.objects.create(
        code=f"{delivery.code}-{delivery.claims.count() + 1}",
        event=writes.event,
        delivery=delivery,
        partner=partner,
        about=about,
        words=words[:300],
    )
    ClaimDue.objects.bulk_create(
        ClaimDue(
            claim=claim,
            how=clock.how,
            at=begun.received_at + timedelta(hours=clock.hours),
            source=clock.source,
        )
        for clock in partner.clocks.filter(about=about)
    )
    return claim


def counted_at(delivery: Delivery) -> Event | None:
    """Return the event that first counted the boxes of a delivery and stands."""
    counts = Event.objects.filter(step="count_boxes", subject=delivery.subject, reversed_by=None)
    decided = Outcome.objects.filter(verdict__in=("applied", "problem"))
    return counts.filter(outcomes__in=decided).order_by("number").first()


def withdraw(writes: Writing, words: str, **which: Any) -> None:
    """Close these open claims: what opened them no longer stands."""
    for claim in open_ones().filter(**which):
        ClaimStep.objects.create(claim=claim, event=writes.event, closes=True, words=words)


def undone(writes: Writing, done: Event) -> None:
    """Close what an undone event opened."""
    withdraw(writes, "Undone.", event=done)


def open_ones() -> QuerySet[Claim]:
    """Return the claims that nothing has closed."""
    return Claim.objects.exclude(steps__closes=True)


def claim_of(subject: str) -> Claim:
    """Return the claim an event is about. Raises CannotMove."""
    prefix, _, code = subject.partition(":")
    claim = Claim.objects.filter(code=code).first() if prefix == "claim" else None
    if claim is None:
        raise CannotMove("Say which claim this is about")
    return claim


def tell(writes: Writing) -> Verdict:
    """The partner was told about the subject's claim; kind says how: phone or writing."""
    claim, how = claim_of(writes.line.subject), writes.line.kind
    if how not in How.values:
        raise CannotMove("Say how they were told: by phone or in writing")
    if claim.steps.filter(closes=True).exists():
        raise CannotMove(f"Claim {claim.code} is closed")
    words = f"{claim.partner} was told {How(how).label}"
    ClaimStep.objects.create(
        claim=claim, event=writes.event, how=how, words=_with(words, writes.line.reason)
    )
    late = claim.dues.filter(how=how, at__lt=writes.event.received_at).first()
    if late is not None:
        return Verdict("applied", f"Noted, but late: {late.source} asked for it earlier.")
    return Verdict("applied", f"{words}.")


def end(writes: Writing) -> Verdict:
    """Close the subject's claim; kind says how it ended, one of ENDS."""
    claim, kind = claim_of(writes.line.subject), writes.line.kind
    if kind not in ENDS:
        raise CannotMove("Say how the claim ended")
    if claim.steps.filter(closes=True).exists():
        return Verdict("noted", f"Claim {claim.code} is closed already.")
    if kind in ("refused", "dropped") and not writes.line.reason:
        raise CannotMove("Say why")
    words = _with(f"Closed: {ENDS[kind]}", writes.line.reason)
    ClaimStep.objects.create(claim=claim, event=writes.event, closes=True, words=words)
    return Verdict("applied", f"Claim {claim.code}. {words}.")


def _with(words: str, reason: str) -> str:
    return f"{words}: {reason}"[:200] if reason else words


def _take_back(writes: Writing, done: Event) -> None:
    """A step of a claim that was undone is told as such; a closed claim stays closed."""
    for step in done.claim_steps.filter(closes=False):
        if step.claim.steps.filter(closes=True).exists():
            raise CannotMove(f"Claim {step.claim.code} is closed")
        words = f"Undone: {step.words}"[:200]
        ClaimStep.objects.create(claim=step.claim, event=writes.event, words=words)
    if done.claim_steps.filter(closes=True).exists():
        raise CannotMove("A closed claim stays closed. Open a new one")


TELL = Act("claim_told", DESK, tell, undo=_take_back)
END = Act("claim_end", DESK, end, undo=_take_back)
