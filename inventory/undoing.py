"""Undo: a reversing event that names the event it takes back."""

from inventory import intake, moving_many
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.models import Person, Reversal, Role
from inventory.moving import CannotMove, Writing, find_event


def undo(writes: Writing) -> Verdict:
    """Take back one event, once, while everything it moved is still where it went."""
    done = find_event(writes.line.reverses) if writes.line.reverses else None
    if done is None:
        return Verdict("stopped", "Nothing is known of what should be undone.")
    if Reversal.objects.filter(reversed=done).exists():
        return Verdict("noted", "That was undone before.")
    if Reversal.objects.filter(event=done).exists():
        raise CannotMove("An undo cannot be undone. Scan again instead")
    last = done.outcomes.order_by("-number").first()
    if last is not None and last.verdict == "stopped":
        raise CannotMove("Nothing was done then, so nothing is undone")
    moving_many.put_back(writes, done)
    writes.undo(done)
    intake.ACTS[done.step].undo(writes, done)
    return Verdict("applied", "Undone.")


def _allow(person: Person, line: Line) -> str:
    """Everybody may undo their own; warehouse and manager also others', of a step they may do."""
    done = find_event(line.reverses) if line.reverses else None
    if done is None or done.person_id == person.pk:
        return ""
    if not person.has(Role.WAREHOUSE, Role.MANAGER):
        return "No such event."
    return "" if person.has(*intake.ACTS[done.step].roles) else "You may not do this."


UNDO = Act("undo", frozenset(Role.values), undo, allow=_allow)
