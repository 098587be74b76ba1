"""What a phone wrote into a file because it could send no more: the last resort.

The file (inventory/static/inventory/queue-file.js): one JSON object a line, UTF-8. First
{"form": FORM, "device": UUID}, then events in their order as {"person", "line"}, then photos and
words that go beside them as {"person", "photo": SHA-256, "subject", "bytes": base64} or {"person",
"note": UUID, "subject", "text"}. `person` is who scanned it: it is taken as theirs, and what the
phone has sent meanwhile, or sends later, stays one.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby
from typing import Any
from uuid import UUID

from inventory import intake, noting, photos
from inventory.access import subject_read
from inventory.models import Device, Person
from inventory.pictures.errors import PhotoRefused

FORM = "lastbolt phone 1"
MOST_BYTES = 200_000_000  # of a file: some hundred photos
AT_ONCE = 200  # events


class PhoneFileRefused(ValueError):
    """The file is not what a phone writes, or names somebody who may not send; in words."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the file after its first."""

    number: int  # of the line, 2 and up
    person: Person
    content: dict[str, Any]

    @property
    def is_event(self) -> bool:
        """Whether it is an event, not what goes beside one."""
        return "line" in self.content


@dataclass(slots=True)
class Brought:
    """What came of a file."""

    verdicts: list[str] = field(default_factory=list)  # of the events, in their order
    beside: int = 0  # photos and words kept
    refused: list[str] = field(default_factory=list)  # why, in words, by line


def read(data: bytes) -> tuple[UUID, list[Row]]:
    """Return the phone and its rows; nothing is changed. Raises PhoneFileRefused."""
    lines = data.splitlines()
    head = _object(1, lines[0]) if lines else {}
    if head.get("form") != FORM:
        raise PhoneFileRefused(f"Line 1: expected a file that a phone wrote ({FORM})")
    device = _uuid(1, "device", head)
    people = {str(person.uid): person for person in Person.objects.all()}
    rows = []
    for number, raw in enumerate(lines[1:], 2):
        content = _object(number, raw)
        person = people.get(str(content.get("person")))
        if person is None:
            raise PhoneFileRefused(f"Line {number}: expected who scanned it, got nobody known here")
        if not person.is_active:
            words = f"{person} has left. Let {person} in again (People), then end it anew"
            raise PhoneFileRefused(f"Line {number}: {words}")
        if "note" in content:
            _uuid(number, "note", content)
        rows.append(Row(number, person, content))
    return device, rows


def bring_in(device: UUID, rows: list[Row], now: datetime) -> Brought:
    """Take the rows of a file as their people's; what cannot be is told."""
    brought = Brought()
    if rows:
        Device.objects.get_or_create(uid=device, defaults={"person": rows[0].person})
    events = [row for row in rows if row.is_event]
    for person, batch in _batches(events):
        results = intake.take(person, [str(row.content["line"]) for row in batch], now)
        brought.verdicts += [result.verdict for result in results]
        brought.refused += [
            f"Line {row.number}: {result.sentence}"
            for row, result in zip(batch, results, strict=True)
            if result.verdict == "refused"
        ]
    for row in rows:
        if not row.is_event:
            why = _beside(row)
            brought.beside += not why
            brought.refused += [f"Line {row.number}: {why}"] if why else []
    return brought


def _batches(events: list[Row]) -> Iterator[tuple[Person, list[Row]]]:
    """Runs of one person's events, in the order of the file."""
    for person, run in groupby(events, key=lambda row: row.person):
        all_of_run = list(run)
        for start in range(0, len(all_of_run), AT_ONCE):
            yield person, all_of_run[start : start + AT_ONCE]


def _beside(row: Row) -> str:
    """Keep a photo or words; why not, or ""."""
    content, person = row.content, row.person
    subject = str(content.get("subject", ""))[:60]
    if subject and not subject_read(person, subject):
        return f"{person} may not see {subject}"
    if "note" in content:
        uid = _uuid(row.number, "note", content)
        note = noting.keep(person, uid, str(content.get("text", ""))[:2000], subject)
        return "" if note else "other words came under this id before"
    try:
        data = base64.b64decode(str(content.get("bytes", "")), validate=True)
    except binascii.Error:
        return "expected a photo in base64"
    if hashlib.sha256(data).hexdigest() != content.get("photo"):
        return "expected the photo that was named, got another"
    try:
        photos.take_in(person, data, subject)
    except PhotoRefused as refusal:
        return refusal.message
    return ""


def _object(number: int, raw: bytes) -> dict[str, Any]:
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise PhoneFileRefused(f"Line {number}: expected a JSON object")
    return found


def _uuid(number: int, name: str, content: dict[str, Any]) -> UUID:
    try:
        return UUID(str(content.get(name)))
    except ValueError:
        raise PhoneFileRefused(f"Line {number}: expected a UUID as {name}") from None
