"""Photos that come in pieces: what has come of one waits in the media folder for the rest."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from django.conf import settings

from inventory import photos
from inventory.models import Person
from inventory.pictures.errors import PhotoRefused

FOLDER = "arriving"
PRIVATE = 0o600


def add_piece(person: Person, sha256: str, piece: bytes, at: int, size: int, subject: str) -> int:
    """Take a piece of the photo that its sender calls `sha256`; return how many bytes are here.

    at: bytes before the piece; one beyond what is here waits until it is sent again.
    size: bytes of the whole photo; when they are here it is kept, and all of it is `size` for ever.
    Raises PhotoRefused where the bytes are no photo, or not the one that was named.
    """
    if at + len(piece) > size:
        raise PhotoRefused("bytes", f"expected {size:,} bytes as was said, got more")
    path = Path(settings.MEDIA_ROOT) / FOLDER / f"{person.pk}-{sha256}"
    here = _write(path, piece, at)
    if here < size:
        return here
    try:
        _keep(person, sha256, path.read_bytes(), subject)
    except FileNotFoundError:
        return 0  # another window's piece has just ended it; asked again, it is here
    except PhotoRefused as refusal:
        if refusal.kind != "busy":
            path.unlink(missing_ok=True)
        raise
    path.unlink(missing_ok=True)
    return size


def _keep(person: Person, sha256: str, whole: bytes, subject: str) -> None:
    if hashlib.sha256(whole).hexdigest() != sha256:
        raise PhotoRefused("bytes", "expected the photo that was named, got another")
    photos.take_in(person, whole, subject)


def _write(path: Path, piece: bytes, at: int) -> int:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    file = os.open(path, os.O_RDWR | os.O_CREAT, PRIVATE)
    try:
        here = os.fstat(file).st_size
        if at > here:
            return here
        # The same piece twice writes the same bytes over.
        os.pwrite(file, piece, at)
        return max(here, at + len(piece))
    finally:
        os.close(file)
