"""The act of a file's part: its rows are written as they were judged, whole or not at all."""

from django.db.models import QuerySet

from inventory.bringing.kinds import KINDS
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.models import BroughtFile, BroughtPart, Event, Person, Role
from inventory.moving import CannotMove, Writing
from inventory.rows import Question, Slot
from inventory.words import counted


def bring_in(writes: Writing) -> Verdict:
    """Write the rows of part `number` of the file that the event is about; once."""
    part = _PART.one(**_named(writes.line))
    if part is None or part.file.turned_at is not None:
        raise CannotMove("This file is not begun, or it is being taken back")
    if part.event_id is not None:
        return Verdict("noted", "These rows were brought in before.")
    if part.sha256 != writes.line.reason:
        raise CannotMove("These are not the rows that were looked at")
    KINDS[part.file.kind].write(writes, part.rows)
    BroughtPart.objects.filter(pk=part.pk).update(event=writes.event)
    rows = counted(len(part.rows), "row")
    return Verdict("applied", f"Brought in: {rows} of file {part.file.code}.")


def allow(person: Person, line: Line) -> str:
    """Only what somebody looked at and confirmed comes in."""
    return "" if _IS.tuples(**_named(line)) else "No such file."


def _named(line: Line) -> dict[str, object]:
    return {"code": line.subject.removeprefix("file:"), "number": line.number or 0}


def _begun() -> QuerySet[BroughtPart]:
    part = {"file__code": Slot(BroughtFile, "code"), "number": Slot(BroughtPart, "number")}
    return BroughtPart.objects.filter(**part).exclude(file__begun_at=None)


_IS = Question(lambda: _begun().values_list("pk"))
# Not the file's bytes: they are megabytes, and each part would read them again.
_PART = Question(lambda: _begun().select_related("file").defer("file__data"))


def undo(writes: Writing, done: Event) -> None:
    """A part is taken back with all others of its file, never by itself."""
    part = BroughtPart.objects.filter(event=done).select_related("file").defer("file__data").first()
    if part is None:
        return
    if part.file.turned_at is None:
        raise CannotMove(f"Take the whole file {part.file.code} back, not one part of it")
    KINDS[part.file.kind].undo(writes, part.rows, done)


BRING_IN = Act("bring_in", frozenset({Role.MANAGER}), bring_in, allow=allow, undo=undo)
