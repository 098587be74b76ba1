"""Claims on suppliers and carriers: opened by what went wrong, each with the partner's own clocks.

This and claiming.py are the only writers of claims. How long one has is data of each partner; what
law says where terms say nothing is told on the page: CMR (1956) article 30: what can be seen is
noted at the door, what cannot within seven days, Sundays and holidays apart (they are counted here,
so we are never late).
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import QuerySet

from inventory.intake import Act, Verdict
from inventory.models import (
    About,
    Claim,
    ClaimDue,
    ClaimStep,
    Delivery,
    Event,
    How,
    Lot,
    Outcome,
    Partner,
    Role,
    Scan,
    Unit,
)
from inventory.moving import CannotMove, Writing

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
LATER = frozenset({About.FAULT, About.RECALL})  # nothing of the delivery: the clock starts now
ON_THE_ROAD = frozenset({About.DAMAGE, About.HIDDEN})
KEEP_DAYS = 30  # where nobody is named yet; one maker's manual of home storage asks for it
ENDS = {
    "credited": "credited",
    "replaced": "replaced",
    "found": "it was found",
    "refused": "refused by them",
    "dropped": "dropped by us",
}


def open_claim(
    writes: Writing,
    delivery: Delivery | None,
    partner: Partner | None,
    about: str,
    words: str,
    *,
    unit: Unit | None = None,
    lot: Lot | None = None,
) -> Claim:
    """Open a claim about a delivery, or about a thing; partner None: nobody knows whom to ask."""
    if delivery is not None:
        code = f"{delivery.code}-{delivery.claims.count() + 1}"
    else:
        code = f"C{Claim.objects.filter(delivery=None).count() + 1}"
    claim = Claim.objects.create(
        code=code,
        event=writes.event,
        delivery=delivery,
        partner=partner,
        unit=unit,
        lot=lot,
        about=about,
        words=words[:300],
    )
    if partner is not None:
        start_clocks(writes, claim, partner)
    return claim


def start_clocks(writes: Writing, claim: Claim, partner: Partner) -> None:
    """The partner's clocks run from the count of the boxes; of a fault in service, from now."""
    begun = None
    if claim.delivery is not None and claim.about not in LATER:
        begun = counted_at(claim.delivery)
    at = (begun or writes.event).received_at
    later = None if claim.event_id == writes.event.pk else writes.event
    ClaimDue.objects.bulk_create(
        ClaimDue(
            claim=claim,
            event=later,
            how=clock.how,
            at=at + timedelta(hours=clock.hours),
            source=clock.source,
        )
        for clock in partner.clocks.filter(about=claim.about)
    )


def ends_at(delivery: Delivery, partner: Partner, about: str) -> datetime | None:
    """Return when the last clock of a partner about a delivery ends; None: no clock runs."""
    counted = counted_at(delivery)
    hours = [clock.hours for clock in partner.clocks.filter(about=about)]
    if counted is None or not hours:
        return None
    return counted.received_at + timedelta(hours=max(hours))


def falls_to(delivery: Delivery, about: str, now: datetime) -> Partner:
    """Return whom a claim falls to: the carrier for damage, while his time runs; else the supplier.

    Where the carrier's time is over the supplier is asked: his terms, or the insurance he names.
    """
    carrier = delivery.carrier
    if about not in ON_THE_ROAD or carrier is None:
        return delivery.supplier
    last = ends_at(delivery, carrier, about)
    return carrier if last is None or last >= now else delivery.supplier


def partner_of(claim: Claim) -> Partner | None:
    """Return whom a claim is put to: who was named last."""
    named = _named_by(claim)
    return named.partner if named is not None else claim.partner


def dues_of(claim: Claim) -> list[ClaimDue]:
    """Return by when a claim has to be told: the clocks of whom it is put to now."""
    named = _named_by(claim)
    since = named.event_id if named is not None else None
    return [due for due in claim.dues.all() if due.event_id == since]


def _named_by(claim: Claim) -> ClaimStep | None:
    """The latest step that put it to somebody else."""
    return _latest(claim, ClaimStep.Kind.PARTNER)


def _latest(claim: Claim, kind: str) -> ClaimStep | None:
    """The latest step of a kind that stands; read from steps that may be fetched already."""
    steps = sorted((s for s in claim.steps.all() if s.kind == kind), key=lambda s: -s.pk)
    return next((step for step in steps if not hasattr(step.event, "reversed_by")), None)


def steps_of(claim: Claim) -> QuerySet[ClaimStep]:
    """Return what was done about a claim and not undone."""
    return claim.steps.filter(event__reversed_by=None)


def about_unit(unit: Unit) -> QuerySet[Claim]:
    """Return the claims about a unit whose opening stands, newest first."""
    return Claim.objects.filter(unit=unit, event__reversed_by=None).order_by("-pk")


def open_about(unit: Unit) -> Claim | None:
    """Return the newest open claim about a unit."""
    return open_ones().filter(unit=unit, event__reversed_by=None).order_by("-pk").first()


def of_a_swap(claim: Claim) -> bool:
    """Whether something was put in the place of what is claimed: its box takes the old one."""
    return claim.event.step == "swap"


def approval(claim: Claim) -> ClaimStep | None:
    """Return the step in which they gave their number, None if they have not."""
    return _latest(claim, ClaimStep.Kind.APPROVED)


def brought_by(unit: Unit) -> Delivery | None:
    """Return the delivery that brought a unit, None where no note was entered for it."""
    moves = unit.movements.filter(
        event__step="receive", event__reversed_by=None, event__subject__startswith="delivery:"
    )
    subject = moves.order_by("pk").values_list("event__subject", flat=True).first()
    found = Delivery.objects.filter(code=subject.partition(":")[2]) if subject else None
    return found.select_related("supplier", "carrier").first() if found is not None else None


def kept_until(claim: Claim) -> date:
    """Return the day up to which what is claimed is kept, as its partner asks."""
    partner = partner_of(claim)
    days = partner.keep_days if partner is not None else KEEP_DAYS
    return claim.event.received_at.date() + timedelta(days=days)


def counted_at(delivery: Delivery) -> Event | None:
    """Return the event that first counted the boxes of a delivery and stands."""
    counts = Event.objects.filter(step="count_boxes", subject=delivery.subject, reversed_by=None)
    decided = Outcome.objects.filter(verdict__in=("applied", "problem"))
    return counts.filter(outcomes__in=decided).order_by("number").first()


def withdraw(writes: Writing, why: str, **which: Any) -> None:
    """Close these open claims: what opened them no longer stands."""
    for claim in open_ones().filter(**which):
        ClaimStep.objects.create(
            claim=claim, event=writes.event, closes=True, value="dropped", words=why
        )


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
    partner = partner_of(claim)
    words = f"{f'{partner} was' if partner else 'They were'} told {How(how).label}"
    ClaimStep.objects.create(
        claim=claim, event=writes.event, how=how, words=with_reason(words, writes.line.reason)
    )
    late = [due for due in dues_of(claim) if due.how == how and due.at < writes.event.received_at]
    if late:
        return Verdict("applied", f"Noted, but late: {late[0].source} asked for it earlier.")
    return Verdict("applied", f"{words}.")


def end(writes: Writing) -> Verdict:
    """Close the subject's claim; kind says how it ended, one of ENDS.

    text: for "replaced" the label or serial of what they sent instead; it may still be on its way.
    """
    claim, kind = claim_of(writes.line.subject), writes.line.kind
    if kind not in ENDS:
        raise CannotMove("Say how the claim ended")
    if claim.steps.filter(closes=True).exists():
        return Verdict("noted", f"Claim {claim.code} is closed already.")
    if kind in ("refused", "dropped") and not writes.line.reason:
        raise CannotMove("Say why")
    by = f" by {_instead(writes, claim, kind)}" if writes.line.text else ""
    words = with_reason(f"Closed: {ENDS[kind]}{by}", writes.line.reason)
    ClaimStep.objects.create(claim=claim, event=writes.event, closes=True, value=kind, words=words)
    return Verdict("applied", f"Claim {claim.code}. {words}.")


def _instead(writes: Writing, claim: Claim, kind: str) -> Unit:
    """The unit that they sent in place of what was claimed."""
    if kind != "replaced":
        raise CannotMove("Scan something only where it was replaced")
    unit = writes.unit_of(writes.thing, evidence="listed")
    if unit is None:
        raise CannotMove(writes.thing.question.rstrip(".") or "Scan the replacement's own label")
    if unit.pk == claim.unit_id:
        raise CannotMove(f"{unit} is what was claimed. Scan what came instead")
    return unit


def replacement(claim: Claim) -> Unit | None:
    """Return what was sent in place of what was claimed, as far as somebody said."""
    step = claim.steps.filter(closes=True, value="replaced").select_related("event").first()
    scan = Scan.objects.filter(event=step.event).select_related("unit__item") if step else None
    found = scan.first() if scan is not None else None
    return found.unit if found is not None else None


def with_reason(words: str, reason: str) -> str:
    return f"{words}: {reason}"[:200] if reason else words


def take_back(writes: Writing, done: Event) -> None:
    """A step of a claim that was undone is told as such; a closed claim stays closed."""
    for step in done.claim_steps.filter(closes=False):
        money = step.kind in (ClaimStep.Kind.EXPECTED, ClaimStep.Kind.CREDIT)
        if not money and step.claim.steps.filter(closes=True).exists():
            raise CannotMove(f"Claim {step.claim.code} is closed")
        words = f"Undone: {step.words}"[:200]
        ClaimStep.objects.create(claim=step.claim, event=writes.event, words=words)
    if done.claim_steps.filter(closes=True).exists():
        raise CannotMove("A closed claim stays closed. Open a new one")


TELL = Act("claim_told", DESK, tell, undo=take_back)
END = Act("claim_end", DESK, end, undo=take_back)
