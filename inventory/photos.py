"""Keeping photos: only clean pixels, under their own SHA-256, in the private media folder."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile

from inventory.codes.serials import look_up_key
from inventory.models import Person, Photo, SentPhoto
from inventory.pictures.accepting import Known
from inventory.pictures.errors import PhotoRefused
from inventory.pictures.reading import Answer, Tell, clean_photo, read_photo
from inventory.scanning import resolve

KNOWN = frozenset({"unit", "box", "lot", "item", "place"})


def path_of(sha256: str) -> str:
    """Return where in the media folder the photo lies."""
    return f"photos/{sha256[:2]}/{sha256}.jpg"


def bytes_of(photo: Photo) -> bytes:
    """Return the stored JPEG. Raises FileNotFoundError."""
    with default_storage.open(path_of(photo.sha256), "rb") as file:
        return bytes(file.read())


def store(person: Person, upload: UploadedFile[bytes], most: int, subject: str = "") -> Photo:
    """Keep an uploaded photo of at most `most` bytes; the same photo twice is one row.

    Raises PhotoRefused. What is kept is a new JPEG without place, time or maker of the camera.
    """
    return take_in(person, data_of(upload, most), subject)


def take_in(person: Person, data: bytes, subject: str = "") -> Photo:
    """Keep the photo of these bytes, and remember what their sender calls it. As `store`."""
    sent_as = hashlib.sha256(data).hexdigest()
    if known := called([sent_as]).get(sent_as):
        return known
    photo = keep(person, clean_photo(data), subject)
    SentPhoto.objects.get_or_create(sha256=sent_as, defaults={"photo": photo})
    return photo


def called(names: Collection[str]) -> dict[str, Photo]:
    """Return the photos by these names: SHA-256 of what is kept, or of what a phone sent."""
    found = {photo.sha256: photo for photo in Photo.objects.filter(sha256__in=names)}
    sent = SentPhoto.objects.filter(sha256__in=names).select_related("photo")
    return {name.sha256: name.photo for name in sent} | found


def keep(person: Person, clean: bytes, subject: str = "") -> Photo:
    """Keep a clean JPEG, see `Answer.stored`; the same photo twice is one row."""
    sha256 = hashlib.sha256(clean).hexdigest()
    if not default_storage.exists(path_of(sha256)):
        default_storage.save(path_of(sha256), ContentFile(clean))
    photo, _ = Photo.objects.get_or_create(
        sha256=sha256,
        defaults={"size": len(clean), "person": person, "subject": subject},
    )
    return photo


def read_all(
    upload: UploadedFile[bytes], most: int, knows: Known, tell: Tell | None = None
) -> Answer:
    """Read every label on an uploaded photo; what is to be kept of it comes with the answer."""
    try:
        data = data_of(upload, most)
    except PhotoRefused as refusal:
        return Answer(refused=refusal)
    return read_photo(data, knows, shelf=True, keep=True, tell=tell)


def read(
    upload: UploadedFile[bytes], most: int, *, shelf: bool = True, tell: Tell | None = None
) -> Answer:
    """Read the codes on an uploaded photo; only what is known here exactly counts."""
    try:
        data = data_of(upload, most)
    except PhotoRefused as refusal:
        return Answer(refused=refusal)
    return read_photo(data, known, shelf=shelf, tell=tell)


def known(text: str, symbology: str) -> str | None:
    """Return the normal form of a text that names something we have, or None."""
    return look_up_key(text) if resolve(text, "symbol", symbology).kind in KNOWN else None


def data_of(upload: UploadedFile[bytes], most: int) -> bytes:
    """Return the bytes of an upload. Raises PhotoRefused (bytes) beyond `most`."""
    size = upload.size or 0
    if not 0 < size <= most:
        raise PhotoRefused("bytes", f"expected a photo of 1 to {most:,} bytes, got {size:,}")
    return b"".join(_chunks(upload))


def _chunks(upload: UploadedFile[bytes]) -> Iterator[bytes]:
    yield from upload.chunks()
