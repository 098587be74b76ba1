"""Checks of claims, of what came back, and of boxes that owe a serial."""

from inventory import returns
from inventory.checks.report import Check, Report
from inventory.claims import counted_at
from inventory.ledger.line import parse
from inventory.models import Claim, ClaimStep, Return, Unit
from inventory.owed import PREFIX
from inventory.queries import open_hold


def claims() -> Report:
    """Each claim was opened by an event about its delivery, and no clock ends before it began."""
    report = Report()
    rows = Claim.objects.select_related("event", "delivery").prefetch_related("dues")
    for claim in rows:
        report.read += 1
        undo = parse(claim.event.line).reverses is not None
        about = undo or claim.unit_id or claim.lot_id or claim.event.subject == _delivery(claim)
        report.expect(bool(about), f"claim {claim.code} was opened by an event of something else")
        counted = counted_at(claim.delivery) if claim.delivery is not None else None
        for due in claim.dues.all():
            begun = min(event.received_at for event in (counted, claim.event) if event)
            report.expect(
                due.at >= begun, f"claim {claim.code} was due before its boxes were counted"
            )
    return report


def steps() -> Report:
    """Each step of a claim belongs to an event about it; nothing follows a claim's closing."""
    report = Report()
    closed: set[int] = set()
    rows = ClaimStep.objects.select_related("claim__delivery", "event").order_by("pk")
    for step in rows:
        report.read += 1
        claim, event = step.claim, step.event
        undo = parse(event.line).reverses is not None
        own = event.subject in (claim.subject, _delivery(claim))
        ours = own or undo or step.kind == ClaimStep.Kind.DANGER
        report.expect(ours, f"a step of claim {claim.code} belongs to event {event.number}")
        # A credit comes when it comes, and its undoing after it.
        money = step.kind == ClaimStep.Kind.CREDIT or (undo and not step.closes)
        later = claim.pk in closed and not money
        report.expect(not later, f"claim {claim.code} went on after it was closed")
        if step.closes:
            closed.add(claim.pk)
    return report


def _delivery(claim: Claim) -> str:
    return claim.delivery.subject if claim.delivery is not None else ""


def back() -> Report:
    """What came back is closed once, and what a unit's open return set aside is set aside."""
    report = Report()
    waiting = set(returns.open_ones().values_list("pk", flat=True))
    for found in Return.objects.select_related("unit__place"):
        report.read += 1
        closings = returns.steps_of(found).filter(closes=True).count()
        report.expect(closings <= 1, f"{found.code}: closed {closings} times")
        unit = found.unit if found.pk in waiting else None
        if unit is not None:
            gone = unit.place is None or unit.place.outside
            held = open_hold(unit) is not None
            report.expect(held or gone, f"{found.code}: came back, and nothing sets it aside")
    return report


def owing() -> Report:
    """A unit owes its serial exactly as long as it carries its box's code instead of one."""
    report = Report()
    for unit in Unit.objects.values("pk", "serial", "evidence").iterator(chunk_size=2000):
        report.read += 1
        stands_in = unit["serial"].startswith(PREFIX)
        said = f"unit {unit['pk']}: serial {unit['serial']!r}, known as {unit['evidence']}"
        report.expect(stands_in == (unit["evidence"] == "owed"), said)
    return report


CHECKS = (
    Check("claims belong to deliveries", Claim, claims),
    Check("a closed claim stays closed", ClaimStep, steps),
    Check("serials that are owed", Unit, owing),
    Check("what came back is set aside", Return, back),
)
