"""Checks of charges."""

from inventory.checks.report import Check, Report
from inventory.models import Charge, Unit


def last_charges() -> Report:
    """Each unit's last charge is the latest that stands, and no charge is later than its event."""
    report = Report()
    latest: dict[int, str] = {}
    rows = Charge.objects.filter(event__reversed_by=None).select_related("event")
    for charge in rows.order_by("on"):
        report.read += 1
        late = charge.on > charge.event.received_at.date()
        report.expect(not late, f"event {charge.event.number}: a charge that is still to come")
        if charge.kind != Charge.Kind.OVERRIDE:
            latest[charge.unit_id] = str(charge.on)
    for unit in Unit.objects.exclude(last_charged=None, charges=None).distinct():
        due = latest.get(unit.pk, "None")
        said = f"unit {unit.pk}: charged {unit.last_charged}, its charges say {due}"
        report.expect(str(unit.last_charged) == due, said)
    return report


CHECKS = (Check("last charges", Charge, last_charges),)
