"""A page that waits for a photo is told how far it is, from the process that reads it."""

from __future__ import annotations

import os
import re
import time
import uuid
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory import reading_progress
from inventory.models import Person
from inventory.pictures.reading import Progress, read_photo
from inventory.reading_progress import FOLDER, KEPT, Said, in_words, said, told
from tests.firm import Firm
from tests.pictures import hostile, walls

KEY, TEXT = str(uuid.UUID(int=7)), "https://x.example/A1B2"
NOTHING = {"step": "", "count": ""}


def striped() -> bytes:
    """A code, and two places with bars that say nothing: each is looked at again and again."""
    scene = np.full((300, 500), 150, np.uint8)
    label = walls.drawn("qr", TEXT, 4.0)
    scene[40 : 40 + label.shape[0], 30 : 30 + label.shape[1]] = label
    bars = np.random.default_rng(1).integers(0, 2, (1, 40), np.uint8)
    for top in (40, 180):
        scene[top : top + 60, 300:420] = np.kron(bars, np.full((60, 3), 245, np.uint8))
    return hostile.saved(Image.fromarray(scene), "PNG")


def client_of(person: Person) -> Client:
    """Signed in."""
    client = Client()
    client.force_login(person)
    return client


def test_the_reading_process_tells_each_step_as_it_comes() -> None:
    """The whole picture first, then round by round, place by place; nothing goes back."""
    came: list[Progress] = []
    answer = read_photo(striped(), {TEXT}, shelf=True, tell=came.append)

    assert came[:2] == [Progress(), Progress(found=1)]
    assert came[-1].round > 2
    assert {(one.at, one.of) for one in came if one.round} == {(1, 2), (2, 2)}
    where = [(one.round, one.at) for one in came]
    assert where == sorted(where)
    assert [one.found for one in came] == sorted(one.found for one in came)
    assert [code.text for code in answer.codes] == [TEXT]
    assert "wall place" not in answer.steps


def test_a_page_asks_over_and_over_while_its_photo_is_read(
    shop: Firm, monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path
) -> None:
    """By the key of its form it hears rising numbers, then nothing; another person never hears."""
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(reading_progress, "PAUSE", 0.0)
    own, another, heard = client_of(shop.wanda.person), client_of(shop.mona.person), []
    wrote = reading_progress._write

    def asked(client: Client, key: str = KEY) -> dict[str, str]:
        answer: dict[str, str] = client.get(reverse("photo_progress"), {"key": key}).json()
        return answer

    def wrote_and_asked(path: Path, words: Said) -> None:
        wrote(path, words)
        heard.append(asked(own))
        assert asked(another) == asked(own, str(uuid.UUID(int=8))) == NOTHING

    monkeypatch.setattr(reading_progress, "_write", wrote_and_asked)
    assert asked(own) == NOTHING
    photo = SimpleUploadedFile("striped.png", striped(), "image/png")
    answer = own.post(reverse("photo"), {"photo": photo, "once": KEY})

    assert TEXT in answer.content.decode()
    steps = list(dict.fromkeys(one["step"] for one in heard))
    assert steps == [
        "Looking at the whole picture.",
        "Looking closely at what was not read at once.",
    ]
    assert heard[0]["count"] == "0 labels read so far."
    close = [one["count"] for one in heard if one["step"] == steps[1]]
    rounds = [[int(number) for number in re.findall(r"\d+", count)] for count in close]
    assert close[-1].startswith(f"Round {rounds[-1][0]}, place ")
    assert close[-1].endswith(". 1 label read so far.")
    assert len(close) > 3
    assert rounds == sorted(rounds)
    assert asked(own) == NOTHING
    assert list((tmp_path / FOLDER).iterdir()) == []


def test_a_photo_is_read_though_its_progress_cannot_be_kept(settings: Any, tmp_path: Path) -> None:
    """A form without a key of ours, or one that is a path; a folder that has gone."""
    settings.MEDIA_ROOT = tmp_path
    person = Person(pk=1)
    for key in ("", "no key", f"../{KEY}"):
        with told(person, key) as tell:
            tell(Progress())
            assert said(person, key) == Said()
    assert list(tmp_path.iterdir()) == []
    with told(person, KEY) as tell:
        (tmp_path / FOLDER).rmdir()
        tell(Progress())
        assert said(person, KEY) == Said()


def test_words_for_one_and_for_many() -> None:
    """As a person reads them."""
    assert in_words(Progress(found=1)).count == "1 label read so far."
    assert in_words(Progress(52, 2, 3, 9)).count == "Round 2, place 3 of 9. 52 labels read so far."


def test_what_a_killed_process_left_goes_with_the_next_photo(settings: Any, tmp_path: Path) -> None:
    """After an hour."""
    settings.MEDIA_ROOT = tmp_path
    folder = tmp_path / FOLDER
    folder.mkdir()
    for name, age in (("old", 2 * KEPT), ("new", 0.0)):
        (folder / name).write_text("x")
        os.utime(folder / name, (time.time() - age,) * 2)
    with told(Person(pk=1), KEY):
        assert [path.name for path in folder.iterdir()] == ["new"]
