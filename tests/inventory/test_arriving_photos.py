"""A photo that comes in pieces, and again: one photo, named by what its phone calls it."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from PIL import Image

from inventory.models import Photo, SentPhoto
from tests import firm

pytestmark = pytest.mark.django_db
PIECES = "application/octet-stream"


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> None:
    """A folder of its own: other tests leave pieces of theirs."""
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def tariq() -> Client:
    client = Client()
    client.force_login(firm.build().tariq.person)
    return client


@pytest.fixture
def shot() -> bytes:
    """A JPEG as a phone sends it."""
    stream = io.BytesIO()
    Image.effect_noise((200, 150), 90).convert("RGB").save(stream, "JPEG")
    return stream.getvalue()


def name(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def send(client: Client, data: bytes, start: int, end: int, *, sha256: str = "") -> int:
    """Send the bytes start to end of a photo; how many the server says that it has."""
    address = f"/api/photos/{sha256 or name(data)}?at={start}&size={len(data)}"
    answer = client.post(address, data[start:end], content_type=PIECES)
    assert answer.status_code == 200, answer.content
    return int(answer.json()["have"])


def waiting() -> list[Path]:
    return [path for path in (Path(settings.MEDIA_ROOT) / "arriving").glob("*") if path.is_file()]


def test_a_photo_goes_on_where_it_stopped(tariq: Client, shot: bytes) -> None:
    """A piece twice, one out of turn, an empty one that asks; then again whole: one photo."""
    assert send(tariq, shot, 0, 0) == 0
    assert send(tariq, shot, 0, 3000) == 3000
    assert send(tariq, shot, 0, 3000) == 3000
    assert send(tariq, shot, 4000, 5000) == 3000
    assert send(tariq, shot, 0, 0) == 3000
    assert not Photo.objects.exists()
    assert send(tariq, shot, 3000, len(shot)) == len(shot)
    assert send(tariq, shot, 0, 0) == len(shot)
    assert waiting() == []

    photo = Photo.objects.get()
    assert SentPhoto.objects.get().sha256 == name(shot) != photo.sha256
    tariq.post("/api/photos", {"photo": io.BytesIO(shot)})
    assert Photo.objects.count() == 1
    for known_as in (name(shot), photo.sha256):
        assert tariq.get(f"/photos/{known_as}")["Content-Type"] == "image/jpeg"


def test_what_is_not_the_named_photo_is_not_kept(tariq: Client, shot: bytes) -> None:
    """Other bytes, no picture, more than was said: 422 with words, nothing stays."""
    for data, sha256 in ((shot, "0" * 64), (b"no picture", ""), (shot + b"\0", name(shot))):
        address = f"/api/photos/{sha256 or name(data)}?size={min(len(data), len(shot))}"
        answer = tariq.post(address, data, content_type=PIECES)
        assert (answer.status_code, waiting()) == (422, []), answer.content
    assert not Photo.objects.exists()


def test_of_another_s_photo_nothing_is_told(tariq: Client, shot: bytes) -> None:
    """Its name alone finds out nothing; who has the bytes sends them, and it stays one photo."""
    send(tariq, shot, 0, len(shot))
    mona = Client()
    stranger = Client()
    from inventory.models import Person

    mona.force_login(Person.objects.get(username="mona"))
    stranger.force_login(Person.objects.create_user("tove", name="Tove", roles=["technician"]))

    assert send(mona, shot, 0, 0) == len(shot)  # the desk sees all
    assert send(stranger, shot, 0, 0) == 0
    assert send(stranger, shot, 0, len(shot)) == len(shot)
    assert Photo.objects.count() == 1
