"""How far the reading of a photo has come, for the page that waits for it.

Any of the server's processes may be asked, so it stands in a file of the media folder while the
reading lasts: named by the person, and by the key of the form that sent the photo.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

from django.conf import settings

from inventory.models import Person
from inventory.pictures.reading import Progress, Tell

FOLDER = "reading"
KEPT = 3600.0  # seconds: what a process that was killed has left
PAUSE = 0.25  # seconds between two tellings


@dataclass(frozen=True, slots=True)
class Said:
    """Progress in words; all empty where nothing is being read."""

    step: str = ""  # changes two or three times: what is read aloud
    count: str = ""  # changes all the time


@contextmanager
def told(person: Person, key: str) -> Iterator[Tell]:
    """What the reading tells its progress to; it is no more when that has ended.

    key: of the form; where it is none, nothing is kept.
    """
    path = _path(person, key)
    if path is None:
        yield lambda progress: None
        return
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    _tidy(path.parent)
    last = -PAUSE

    def tell(progress: Progress) -> None:
        nonlocal last
        if time.monotonic() - last >= PAUSE:
            last = time.monotonic()
            with suppress(OSError):  # a full disk must not cost the photo
                _write(path, in_words(progress))

    try:
        yield tell
    finally:
        path.unlink(missing_ok=True)


def said(person: Person, key: str) -> Said:
    """How far it is."""
    path = _path(person, key)
    try:
        step, _, count = path.read_text(encoding="utf-8").partition("\n") if path else ("", "", "")
    except FileNotFoundError:
        return Said()
    return Said(step, count)


def in_words(progress: Progress) -> Said:
    """For people."""
    found = f"{progress.found} label{'' if progress.found == 1 else 's'} read so far."
    if not progress.round:
        return Said("Looking at the whole picture.", found)
    where = f"Round {progress.round}, place {progress.at} of {progress.of}."
    return Said("Looking closely at what was not read at once.", f"{where} {found}")


def _path(person: Person, key: str) -> Path | None:
    try:
        return Path(settings.MEDIA_ROOT) / FOLDER / f"{person.pk}-{UUID(key)}"
    except ValueError:
        return None


def _write(path: Path, words: Said) -> None:
    """All of it or nothing: it may be read at any moment."""
    fresh = path.with_suffix(".new")
    fresh.write_text(f"{words.step}\n{words.count}", encoding="utf-8")
    fresh.replace(path)


def _tidy(folder: Path) -> None:
    for old in folder.iterdir():
        with suppress(FileNotFoundError):  # another photo has just ended
            if time.time() - old.stat().st_mtime > KEPT:
                old.unlink()
