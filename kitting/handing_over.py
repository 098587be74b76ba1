"""Handing over: who takes the job over signs on the screen; the latest signature counts.

Names and signatures are of people outside the firm: the event names a photo and a note, which can
be erased; they are shown to the crew and the desk, and printed on the hand-over sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from inventory import photos
from inventory.intake import Act, Verdict
from inventory.models import Note, Person, Photo, Role
from inventory.moving import CannotMove, Writing
from kitting import access
from kitting.models import HandedOver, Kit


@dataclass(frozen=True, slots=True)
class Signed:
    """A signature as pages and sheets show it."""

    name: str  # "" where it was not said, or erased
    at: datetime
    before: Person  # of the crew, who had it signed
    photo: Photo | None  # None: erased


def sign_over(writes: Writing) -> Verdict:
    """Keep the signature: the photo of what was drawn, the note with the name."""
    kit, line = access.kit_of_subject(writes.line.subject), writes.line
    if kit is None or kit.released_at is None:
        raise CannotMove("Say which kit this is for")
    if not line.photo:
        raise CannotMove("Let them sign in the box first")
    HandedOver.objects.create(event=writes.event, kit=kit, photo=line.photo, note=line.note)
    return Verdict("applied", f"{kit.code}: signed. It stands on the hand-over sheet.")


def signed(kit: Kit) -> Signed | None:
    """Return the latest signature that was not undone, None where nobody signed.

    An event can name any picture and any words: another crew's are nobody's here, so that nobody
    reads them off the own sheet.
    """
    rows = HandedOver.objects.filter(kit=kit, event__reversed_by=None)
    row = rows.select_related("event__person", "kit").order_by("-pk").first()
    if row is None:
        return None
    note = Note.objects.filter(uid=row.note).first() if row.note else None
    photo = photos.called([row.photo]).get(row.photo)
    if photo is not None and (photo.erased or not _theirs(photo, row)):
        photo = None
    name = note.text if note is not None and _theirs(note, row) else ""
    return Signed(name, row.event.received_at, row.event.person, photo)


def _theirs(kept: Photo | Note, row: HandedOver) -> bool:
    """Whether a photo or note is of who had it signed, or about the kit."""
    return kept.person_id == row.event.person_id or kept.subject == row.kit.subject


SIGN_OVER = Act("sign_over", frozenset(Role.values), sign_over, allow=access.allow)
