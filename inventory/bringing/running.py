"""A file taken in: begun, carried on part by part, finished or taken back; the only writer of them.

Each part is one event with an id of its own that was drawn when the file was begun, so a part that
is sent again after a crash is known and changes nothing. Between two parts others may scan. What
is begun can only be finished or taken back; a part that meets something new takes all back.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import time
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, timedelta

from django.db.models import Max, Q
from django.utils import timezone

from inventory import intake
from inventory.bringing.kinds import KINDS, Data, Found, Kind
from inventory.bringing.looking import Look, known, look
from inventory.incoming.reading import Choices, sha256
from inventory.ledger.ids import uuid7
from inventory.lock import writing
from inventory.models import BroughtFile, BroughtPart, Device, Event, Person
from inventory.rows import add
from inventory.words import counted

STEP = "bring_in"
PARTS_AT_ONCE = 5  # stored in one transaction
PAUSE = 0.004  # seconds between two transactions, in which a scan takes the lock
KEPT = timedelta(days=1)  # a file that was only looked at
KEPT_OF_ONE = 5  # such files of one person


class CannotBringIn(Exception):
    """A file that is not taken in, or does not go on; the message says why."""


class Changed(CannotBringIn):
    """The plan that somebody confirmed is not the one that would be carried out."""


def keep(kind: Kind, name: str, choices: Choices, data: bytes, by: Person) -> BroughtFile:
    """Keep a file to be looked at, until somebody confirms it or a day has passed."""
    unbegun = BroughtFile.objects.filter(begun_at=None)
    own = unbegun.filter(person=by).order_by("-pk").values_list("pk", flat=True)
    with writing():
        old = unbegun.filter(
            Q(looked_at__lt=timezone.now() - KEPT) | Q(pk__in=list(own[KEPT_OF_ONE - 1 :]))
        )
        BroughtPart.objects.filter(file__in=old).delete()
        old.delete()
        last = BroughtFile.objects.aggregate(last=Max("pk"))["last"] or 0
        return BroughtFile.objects.create(
            code=f"F{last + 1}",
            kind=kind.name,
            name=name[-120:],
            sha256=sha256(data),
            choices=asdict(choices),
            data=data,
            person=by,
        )


def choices_of(file: BroughtFile) -> Choices:
    """Return what was said of a file when it was looked at."""
    return Choices(**file.choices)


def look_again(file: BroughtFile, by: Person) -> Look:
    """Judge a kept file by what there is now. Raises FileRefused where it cannot be read."""
    assert file.data is not None, "kept until it is over"
    return look(KINDS[file.kind], bytes(file.data), file.name, choices_of(file), by)


def confirm(file: BroughtFile, plan: str, by: Person, *, change: bool) -> BroughtFile:
    """Begin what a person looked at. Raises CannotBringIn, Changed where it is another plan now."""
    seen = look_again(file, by)
    if seen.plan != plan:
        raise Changed("What is there has changed since you looked. Look at it again")
    return begin(file, seen, change=change)


def begin(file: BroughtFile, seen: Look, *, change: bool) -> BroughtFile:
    """Store the rows to write in parts, then say that the file is begun.

    Raises CannotBringIn: what is wrong in the rows, changes that nobody allowed, nothing to do.
    """
    _may_begin(seen, change=change)
    rows = seen.to_write
    parts = list(_parts(file, seen.kind, rows))
    with writing():
        file.parts.all().delete()  # of a beginning that a crash cut short
    for start in range(0, len(parts), PARTS_AT_ONCE):
        with writing():
            for part in parts[start : start + PARTS_AT_ONCE]:
                add(part)  # one by one: PostgreSQL reads them twice in an array
        time.sleep(PAUSE)
    with writing():
        # Looked at under the lock: two people may confirm one file, or the same file twice.
        file.refresh_from_db()
        if file.begun_at is not None or known(seen.kind, file.sha256) not in (None, seen.before):
            raise CannotBringIn(f"{file.name} was begun by somebody else just now")
        file.device = Device.objects.create(person=file.person, label=f"File {file.code}")
        file.rows, file.begun_at = len(rows), timezone.now()
        file.begun_after = Event.objects.aggregate(last=Max("number"))["last"] or 0
        file.save(update_fields=["device", "rows", "begun_at", "begun_after"])
    return file


def _may_begin(seen: Look, *, change: bool) -> None:
    if seen.faults:
        raise CannotBringIn(f"{counted(len(seen.faults), 'fault')} to be put right first")
    if seen.changed and not change:
        rows = counted(seen.changed, "row")
        raise CannotBringIn(f"{rows} would change what is there: allow it first")
    if not seen.to_write:
        raise CannotBringIn("All of it is there already: nothing to do")


def _parts(file: BroughtFile, kind: Kind, rows: Sequence[Found]) -> list[BroughtPart]:
    size = kind.at_once or len(rows)
    groups = [rows[start : start + size] for start in range(0, len(rows), size)]
    parts = []
    for number, group in enumerate(groups, 1):
        data: list[Data] = [{"row": one.number, **one.data} for one in group]
        if kind.personal:
            # Their sum stands in an event for ever: nobody can try names against it.
            data[0]["salt"] = secrets.token_hex(16)
        parts.append(BroughtPart(file=file, number=number, rows=data, sha256=sum_of(data)))
    return parts


def sum_of(rows: Sequence[Data]) -> str:
    """Return the SHA-256 of the rows of a part, hex."""
    text = json.dumps(rows, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def go_on(file: BroughtFile, by: Person, *, seconds: float | None = None) -> BroughtFile:
    """Carry out what is left, for so long; finish, or take all back where a part cannot be.

    Raises CannotBringIn where it was taken back, with the reason.
    """
    began = time.monotonic()
    if file.begun_at is None or file.turned_at is not None or file.finished_at is not None:
        return file
    # Not their rows: they are megabytes, and the act reads those of its own part.
    for part in file.parts.filter(event=None).order_by("number").defer("rows"):
        result = intake.take(by, [_line(file, part)], timezone.now())[0]
        part.refresh_from_db(fields=["event"])
        if part.event_id is None:  # a "problem" that has one says what was set aside on the way
            take_back(file, by, f"Part {part.number}: {result.sentence}")
            raise CannotBringIn(f"{file.name} was taken back whole. {file.why}")
        time.sleep(PAUSE)
        if seconds is not None and time.monotonic() - began > seconds:
            return file
    with writing():
        file.refresh_from_db()
        if file.turned_at is None and not file.parts.filter(event=None).exists():
            file.finished_at = file.finished_at or timezone.now()
            _erase(file)
    return file


def take_back(file: BroughtFile, by: Person, why: str) -> None:
    """Undo what was carried out, last first. Raises CannotBringIn where something moved on."""
    with writing():
        file.refresh_from_db()
        if file.finished_at is not None or file.begun_at is None:
            raise CannotBringIn(f"{file.name} is {file.state}: expected one begun, not finished")
        if file.turned_at is None:
            file.turned_at, file.why = timezone.now(), why[:400]
            file.save(update_fields=["turned_at", "why"])
    standing = file.parts.exclude(event=None).filter(event__reversed_by=None)
    for part in standing.select_related("event").order_by("-number"):
        result = intake.take(by, [_undo_line(file, part)], timezone.now())[0]
        if result.verdict not in ("applied", "noted"):
            sentence = result.sentence
            raise CannotBringIn(f"{file.name}, part {part.number} stays for now: {sentence}")
        time.sleep(PAUSE)
    with writing():
        file.refresh_from_db()
        file.taken_back_at = file.taken_back_at or timezone.now()
        _erase(file)


def _erase(file: BroughtFile) -> None:
    file.data = None
    file.save(update_fields=["data", "finished_at", "taken_back_at"])
    if KINDS[file.kind].personal:
        file.parts.update(rows=[])


def _line(file: BroughtFile, part: BroughtPart) -> str:
    return _text(file, part.uid, part.number, number=part.number, reason=part.sha256)


def _undo_line(file: BroughtFile, part: BroughtPart) -> str:
    # An id of its own for each try: what could not be undone yet may be undone later.
    assert part.event is not None, "only what was carried out is undone"
    assert file.device_id is not None, "begun"
    seq = Device.objects.get(pk=file.device_id).high_water + 1
    return _text(file, uuid7(), seq, step="undo", reverses=str(part.event.uid))


def _text(file: BroughtFile, uid: object, seq: int, **more: object) -> str:
    assert file.device is not None, "begun"
    assert file.begun_at is not None, "begun"
    data = {
        "v": 1,
        "id": str(uid),
        "device": str(file.device.uid),
        "seq": seq,
        "at": file.begun_at.astimezone(UTC).isoformat(),
        "step": STEP,
        "subject": file.subject,
        "kind": file.kind,
    }
    return json.dumps({**data, **more}, separators=(",", ":"))
