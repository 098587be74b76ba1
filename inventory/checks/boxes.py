"""A check of what is in doubt about suppliers' boxes: it is what opening them showed."""

from inventory.checks.report import Check, Report
from inventory.ledger.line import parse
from inventory.models import BoxDoubt, Event

STEP = "open_box"


def doubts() -> Report:
    """Each doubt says what its event says, begins before it ends, and none outlives its event."""
    report = Report()
    rows = BoxDoubt.objects.select_related(
        "event__reversal__reversed", "event__reversed_by", "content", "lot", "end__event"
    )
    for doubt in rows.order_by("pk"):
        report.read += 1
        for words in _faults(doubt):
            report.problems.append(f"doubt {doubt.pk}: {words}")
    return report


def _faults(doubt: BoxDoubt) -> list[str]:
    """What is wrong with one doubt."""
    event, end = doubt.event, getattr(doubt, "end", None)
    taken_back: Event | None = getattr(getattr(event, "reversal", None), "reversed", None)
    found = []
    if (taken_back or event).step != STEP:
        found.append(f"of the step {event.step}")
    if taken_back is None and doubt.found != _said(event):
        found.append(f"{doubt.found} found, its event says {_said(event)}")
    if doubt.found == doubt.content.quantity:
        found.append("found as told")
    if doubt.content.box_of_id != doubt.lot.item_id:
        found.append("about the batch of another item")
    if end is not None and end.event.number <= event.number:
        found.append("ended before it began")
    if end is None and hasattr(event, "reversed_by"):
        found.append("its event was undone")
    return found


def _said(event: Event) -> int:
    line = parse(event.line)
    return 0 if line.kind == "none" else line.quantity or 0


CHECKS = (Check("doubts about boxes are what was found", BoxDoubt, doubts),)
