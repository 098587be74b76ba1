"""A file that a phone saved because it could send no more: taken in as those who scanned, once."""

from __future__ import annotations

import base64
import hashlib
import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.ledger.ids import uuid7
from inventory.models import Event, Note, Photo, SentPhoto
from inventory.phone_file import FORM
from tests import firm, people
from tests.firm import Firm, Phone

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Firm:
    return firm.build()


def saved(folder: Path, phone: Phone, *rows: dict[str, object], form: str = FORM) -> Path:
    """The file as the browser writes it."""
    head = {"form": form, "device": str(phone.device.uid), "at": "2026-11-25T06:10:00.000Z"}
    file = folder / "not-sent.jsonl"
    file.write_text("".join(f"{json.dumps(row)}\n" for row in (head, *rows)), encoding="utf-8")
    return file


def told(*words: str) -> str:
    out = io.StringIO()
    call_command("bring_phone", *words, stdout=out)
    return out.getvalue()


def by(phone: Phone, **content: str) -> dict[str, object]:
    return {"person": str(phone.person.uid), **content}


def test_a_file_comes_in_as_those_who_scanned_and_once(made: Firm, tmp_path: Path) -> None:
    """Two people's scans of one phone, a photo, words; one scan had arrived already."""
    wanda, shot = made.wanda, people.picture(5)
    name, note = hashlib.sha256(shot).hexdigest(), str(uuid7())
    lines = [wanda.line("receive", "09521234000020", target="DOCK", quantity=n) for n in (3, 4)]
    other = made.phone(made.mona.person)
    other.device, other.seq = wanda.device, wanda.seq
    lines.append(other.line("receive", "09521234000020", target="DOCK", quantity=5))
    wanda.send(lines[0])
    encoded = base64.b64encode(shot).decode()
    file = saved(
        tmp_path,
        wanda,
        *(by(phone, line=line) for phone, line in zip((wanda, wanda, other), lines, strict=True)),
        by(wanda, photo=name, subject="", bytes=encoded),
        by(wanda, note=note, subject="", text="Two were wet."),
        by(wanda, photo="0" * 64, subject="", bytes=encoded),
    )

    looked = told(str(file))
    assert "Wanda: 2 scanned" in looked
    assert "Wanda: 3 photos and words" in looked
    assert (Event.objects.count(), Note.objects.count()) == (1, 0)
    for _ in range(2):
        with pytest.raises(CommandError, match=r"^Line 7: expected the photo that was named"):
            told(str(file), "--write")

    events = Event.objects.order_by("number").values_list("line", "person__name")
    assert list(events) == list(zip(lines, ("Wanda", "Wanda", "Mona"), strict=True))
    assert (Note.objects.get().text, Note.objects.get().person) == ("Two were wet.", wanda.person)
    assert (SentPhoto.objects.get().sha256, Photo.objects.count()) == (name, 1)


def test_what_is_no_phone_s_file_changes_nothing(made: Firm, tmp_path: Path) -> None:
    """Another file, a line that is torn, nobody's scan, that of a leaver: told by the line."""
    good = by(made.wanda, line=made.wanda.line("receive", "09521234000020", target="DOCK"))
    stranger = {"person": str(uuid7()), "line": "{}"}
    for rows, form, words in (
        ((good,), "another", "Line 1: expected a file that a phone wrote"),
        ((good, stranger), FORM, "Line 3: expected who scanned it, got nobody known"),
        ((good, by(made.wanda, note="x")), FORM, "Line 3: expected a UUID as note"),
    ):
        with pytest.raises(CommandError, match=words):
            told(str(saved(tmp_path, made.wanda, *rows, form=form)), "--write")
    file = saved(tmp_path, made.wanda, good)
    with file.open("a", encoding="utf-8") as torn:
        torn.write('{"person": "')
    with pytest.raises(CommandError, match="Line 3: expected a JSON object"):
        told(str(file), "--write")
    made.wanda.person.is_active = False
    made.wanda.person.save()
    with pytest.raises(CommandError, match=r"Line 2: Wanda has left\. Let Wanda in again"):
        told(str(saved(tmp_path, made.wanda, good)), "--write")
    assert not Event.objects.exists()

    made.wanda.person.is_active = True
    made.wanda.person.save()
    assert "applied: 1" in told(str(saved(tmp_path, made.wanda, good)), "--write")
