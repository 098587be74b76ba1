"""Checks of files brought in: whole, or gone again."""

from inventory.bringing.running import sum_of
from inventory.checks.report import Check, Report
from inventory.models import BroughtFile, BroughtPart, Event


def whole() -> Report:
    """A finished file has each part's event standing, one taken back has none."""
    report = Report()
    for file in BroughtFile.objects.exclude(begun_at=None):
        report.read += 1
        parts = file.parts.count()
        standing = file.parts.filter(event__isnull=False, event__reversed_by=None).count()
        if file.finished_at:
            report.expect(standing == parts, f"{file.code}: {standing} of {parts} parts stand")
        if file.taken_back_at:
            report.expect(standing == 0, f"{file.code}: taken back, {standing} parts stand")
    return report


def parts() -> Report:
    """The rows of a part are those that its event names by their sum."""
    report = Report()
    for part in BroughtPart.objects.select_related("event", "file"):
        report.read += 1
        name = f"{part.file.code}, part {part.number}"
        kept = not part.rows or sum_of(part.rows) == part.sha256
        report.expect(kept, f"{name}: its rows were changed")
        said = part.event is None or part.sha256 in part.event.line
        report.expect(said, f"{name}: its event names other rows")
    brought = Event.objects.filter(step="bring_in", brought_part=None, outcomes__verdict="applied")
    report.problems += [f"event {event.number} brought in no part" for event in brought]
    return report


CHECKS = (
    Check("files brought in are whole or gone", BroughtFile, whole),
    Check("rows brought in are those that were judged", BroughtPart, parts),
)
