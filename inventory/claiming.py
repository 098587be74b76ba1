"""A claim's further course: opened for a thing, its papers, whom it is put to, approval, money."""

from __future__ import annotations

from inventory import claims
from inventory.claim_needs import NEEDS, key_fits
from inventory.claims import DESK, claim_of, open_claim, partner_of, take_back, with_reason
from inventory.intake import Act, Verdict
from inventory.models import About, Claim, ClaimStep, Partner, ReturnKind, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.return_routes import GRAVE
from inventory.returns import of_event


def claim_open(writes: Writing) -> Verdict:
    """Claim the scanned unit, or what the subject "return:R3" is about; kind: one of About.

    target: code of whom it is put to; without one, whom it falls to.
    """
    if writes.line.kind not in About.values:
        raise CannotMove("Say what is claimed")
    unit, lot = writes.thing.unit, None
    if unit is None:
        found = of_event(writes)
        unit, lot = found.unit, found.lot
    known = claims.open_about(unit) if unit is not None else None
    if known is not None:
        return Verdict("noted", f"{unit} is claimed already: {known.code}.")
    partner = _named(writes) if writes.line.target else None
    delivery = claims.brought_by(unit) if unit is not None else None
    if partner is None and delivery is not None:
        partner = claims.falls_to(delivery, writes.line.kind, writes.event.received_at)
    words = with_reason(f"{unit or lot}: {About(writes.line.kind).label}", writes.line.reason)
    claim = open_claim(writes, delivery, partner, writes.line.kind, words, unit=unit, lot=lot)
    return Verdict("applied", f"{claim.code}: {words}. {whom(partner)}")


def faulty(writes: Writing, unit: Unit, about: str, why: str) -> Claim:
    """Claim a unit that came off its stack; the open claim about it, if there is one."""
    known = claims.open_about(unit)
    if known is not None:
        return known
    delivery = claims.brought_by(unit)
    partner = delivery.supplier if delivery is not None else None
    words = f"{unit}: {About(about).label}, {why}"
    return open_claim(writes, delivery, partner, about, words, unit=unit)


def while_it_runs(writes: Writing, unit: Unit, kind: str, why: str) -> str:
    """Claim a thing that came damaged or dead where whom it falls to gave a time that still runs.

    Nobody has to remember the clock; what was our own doing is dropped by hand, with a reason.
    Returns what to say of it, "" where no time runs: then a person decides.
    """
    delivery, about = claims.brought_by(unit), advised(kind)
    if delivery is None or kind not in (ReturnKind.DAMAGED, ReturnKind.DEAD):
        return ""
    known = claims.open_about(unit)
    if known is not None:
        return f" It is claimed already: {known.code}."
    now = writes.event.received_at
    partner = claims.falls_to(delivery, about, now)
    last = claims.ends_at(delivery, partner, about)
    if last is None or last < now:
        return ""
    words = with_reason(f"{unit}: {About(about).label}", why)
    claim = open_claim(writes, delivery, partner, about, words, unit=unit)
    return f" Claim {claim.code} is open: the office tells {partner} until {last:%-d %b}."


def whom(partner: Partner | None) -> str:
    """Say whom to tell."""
    return f"Tell {partner}." if partner is not None else "Say whom it is put to."


def _named(writes: Writing) -> Partner:
    found = Partner.objects.filter(code=writes.line.target).first()
    if found is None:
        raise CannotMove("Say whom it is put to: one of the suppliers and carriers")
    return found


def _open(writes: Writing) -> Claim:
    claim = claim_of(writes.line.subject)
    if claim.steps.filter(closes=True).exists():
        raise CannotMove(f"Claim {claim.code} is closed")
    return claim


def _step(writes: Writing, claim: Claim, kind: str, words: str, **more: object) -> None:
    ClaimStep.objects.create(
        claim=claim,
        event=writes.event,
        kind=kind,
        words=words[:200],
        photo=writes.line.photo,
        **more,
    )


def claim_partner(writes: Writing) -> Verdict:
    """The subject's claim is put to the partner whose code is the target; their clocks start."""
    claim, partner = _open(writes), _named(writes)
    if partner_of(claim) == partner:
        return Verdict("noted", f"{claim.code} is put to {partner} already.")
    _step(writes, claim, ClaimStep.Kind.PARTNER, f"Put to {partner}", partner=partner)
    claims.start_clocks(writes, claim, partner)
    return Verdict("applied", f"{claim.code} is put to {partner}.")


def claim_approved(writes: Writing) -> Verdict:
    """They approve the subject's claim and give a number ("reason") for what is sent back."""
    claim, number = _open(writes), writes.line.reason.strip()
    if not number:
        raise CannotMove("Enter the number they gave")
    known = claims.approval(claim)
    if known is not None and known.value == number[:120]:
        return Verdict("noted", f"{claim.code} is approved already: {number}.")
    _step(writes, claim, ClaimStep.Kind.APPROVED, f"Approved: {number}", value=number[:120])
    return Verdict("applied", f"{claim.code} is approved: {number}.")


def claim_need(writes: Writing) -> Verdict:
    """Something of what the subject's claim needs is here: kind its key, "reason" or a photo."""
    claim, key, line = _open(writes), writes.line.kind, writes.line
    if not key_fits(claim, key):
        raise CannotMove("Say what it is: one of what the claim needs")
    if not line.photo and not line.reason and line.note is None:
        raise CannotMove("Write it down, or photograph it")
    named = NEEDS[key].words if key in NEEDS else key
    words = with_reason(named, line.reason) + (", photo" if line.photo else "")
    _step(writes, claim, ClaimStep.Kind.NEED, words, value=key)
    return Verdict("applied", f"{claim.code}: {words}.")


def claim_money(writes: Writing) -> Verdict:
    """quantity: cents asked for (kind "expected") or credited (kind "credit", "reason" its note).

    A credit often comes when the claim is long closed.
    """
    kind, cents = writes.line.kind, writes.line.quantity
    if kind not in (ClaimStep.Kind.EXPECTED, ClaimStep.Kind.CREDIT):
        raise CannotMove("Say whether it is asked for or was credited")
    if cents is None:
        raise CannotMove("Say how much")
    claim = claim_of(writes.line.subject)
    if kind == ClaimStep.Kind.EXPECTED:
        claim = _open(writes)
    label = ClaimStep.Kind(kind).label.capitalize()
    words = with_reason(f"{label}: {cents // 100}.{cents % 100:02}", writes.line.reason)
    number = writes.line.reason[:120]
    same = claims.steps_of(claim).filter(kind=kind, amount=cents, value=number)
    if number and kind == ClaimStep.Kind.CREDIT and same.exists():
        return Verdict("noted", f"{claim.code}: that credit note is entered already.")
    _step(writes, claim, kind, words, amount=cents, value=number)
    return Verdict("applied", f"{claim.code}. {words}.")


def stops_removal(unit: Unit) -> str:
    """Return why a unit may not be taken off yet: it is claimed, and they have not approved it."""
    claim = claims.open_about(unit)
    if claim is not None and claims.approval(claim) is None:
        asked = partner_of(claim) or "those it is put to"
        return f"{unit} is claimed ({claim.code}), and {asked} have not given their number yet"
    delivery = claims.brought_by(unit) if claim is None else None
    if delivery is not None and delivery.supplier.approval_first:
        return f"{delivery.supplier} want to approve it first: claim {unit} before it comes off"
    return ""


def removed_for_danger(writes: Writing, unit: Unit) -> None:
    """Note in the open claim that it was taken away before they approved it, and why."""
    claim = claims.open_about(unit)
    if claim is not None and claims.approval(claim) is None:
        words = with_reason("Taken away for danger, before they approved it", writes.line.reason)
        _step(writes, claim, ClaimStep.Kind.DANGER, words)


def advised(kind: str) -> str:
    """Return what is usually claimed for a kind of return."""
    told = {"damaged": About.HIDDEN, "dead": About.DEAD, "wrong": About.WRONG}
    return told.get(kind, About.RECALL if kind in GRAVE else About.WRONG)


LEAD = frozenset({Role.MANAGER})
OPEN = Act("claim_open", DESK, claim_open, undo=claims.undone)
PUT_TO = Act("claim_partner", DESK, claim_partner, undo=take_back)
APPROVED = Act("claim_approved", DESK, claim_approved, undo=take_back)
NEED = Act("claim_need", DESK, claim_need, undo=take_back)
MONEY = Act("claim_money", LEAD, claim_money, undo=take_back)
ACTS = (OPEN, PUT_TO, APPROVED, NEED, MONEY)
