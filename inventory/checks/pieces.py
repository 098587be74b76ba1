"""Checks of reels, opened packs and remnants."""

from inventory.checks.report import Check, Report
from inventory.models import Lot


def pieces() -> Report:
    """Each is of its parent's item, and none keeps longer than what it was taken from."""
    report = Report()
    for lot in Lot.objects.select_related("parent"):
        report.read += 1
        if lot.parent is None:
            report.expect(lot.opened_on is None, f"{lot}: opened, but of no batch")
            continue
        report.expect(lot.item_id == lot.parent.item_id, f"{lot}: of another item than its batch")
        ends, until = lot.expires_on, lot.parent.expires_on
        longer = until is not None and (ends is None or ends > until)
        report.expect(not longer, f"{lot}: keeps until {ends}, its batch until {until}")
    return report


CHECKS = (Check("pieces are of their batch", Lot, pieces),)
