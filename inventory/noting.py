"""Keeping words of people, under ids that their phones give them."""

from __future__ import annotations

from uuid import UUID

from inventory.models import Note, Person


def keep(person: Person, uid: UUID, text: str, subject: str = "") -> Note | None:
    """Keep a note; the same again is the same note. None where other words came under this id."""
    about = {"text": text, "person": person, "subject": subject}
    note, made = Note.objects.get_or_create(uid=uid, defaults=about)
    if not made and (note.text != text or note.person_id != person.pk):
        return None
    return note
