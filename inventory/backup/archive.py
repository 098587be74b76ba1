"""The archive: a ZIP that ends in the SHA-256 of all of it before.

    about.json            what it is of: versions, digest, record mark, tables, photos
    rows/<table>.jsonl    see rows.py
    photos/<sha256>.jpg

The hash stands in the ZIP's closing comment, its last 64 bytes: `head -c -64 FILE | sha256sum` says
it again. It finds what a disk or a cable spoils; against somebody who writes an archive anew only a
record mark kept elsewhere helps.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.backup.errors import ArchiveRefused
from inventory.whole_file import PRIVATE, NotWritten, got, whole_file

FORMAT = 1
ABOUT = "about.json"
HASH = 64  # hex digits
PIECE = 1 << 20  # bytes


@dataclass(frozen=True, slots=True)
class Told:
    """One table of the archive."""

    rows: int
    sha256: str  # of its lines, hex


def told(lines: Iterable[bytes]) -> Told:
    """Return how many rows there are below the heading, and the hash of all lines."""
    total, count = hashlib.sha256(), -1
    for line in lines:
        total.update(line)
        count += 1
    return Told(count, total.hexdigest())


class Writing:
    """An archive being written; nothing stands under its name before it is whole."""

    def __init__(self, packed: zipfile.ZipFile) -> None:
        self._packed = packed
        self.tables: dict[str, Told] = {}

    def table(self, name: str, lines: Iterable[bytes]) -> None:
        """Write a table and note its hash."""
        with self._packed.open(_rows(name), "w", force_zip64=True) as out:
            self.tables[name] = told(_through(lines, out))

    def photo(self, sha256: str, data: bytes) -> None:
        """Write a photo as it is: it cannot be packed smaller."""
        self._packed.writestr(_photo(sha256), data, zipfile.ZIP_STORED)

    def about(self, words: dict[str, Any]) -> None:
        """Write what it is of, last."""
        tables = {name: {"rows": t.rows, "sha256": t.sha256} for name, t in self.tables.items()}
        said = {"lastbolt archive": FORMAT, **words, "tables": tables}
        self._packed.writestr(ABOUT, json.dumps(said, indent=1))


def _through(lines: Iterable[bytes], out: Any) -> Iterator[bytes]:
    for line in lines:
        out.write(line)
        yield line


def _rows(table: str) -> str:
    return f"rows/{table}.jsonl"


def _photo(sha256: str) -> str:
    return f"photos/{sha256}.jpg"


@contextmanager
def writing(path: Path) -> Iterator[Writing]:
    """Open a new archive; it gets its name when all of it is on the disk.

    Raises ArchiveRefused where the name is taken or cannot be written.
    """
    if path.exists():
        raise ArchiveRefused(f"{path}: expected a name that is not taken, got one that is")
    try:
        with whole_file(path, PRIVATE) as part:
            with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as packed:
                yield Writing(packed)
                packed.comment = b"0" * HASH
            with part.open("r+b") as file:
                file.seek(-HASH, 2)
                end = file.tell()
                file.write(_sum(part, end).encode())
    except NotWritten as error:
        raise ArchiveRefused(str(error)) from error


def _sum(path: Path, length: int) -> str:
    """Return the SHA-256 of the first bytes of a file, hex."""
    total = hashlib.sha256()
    with path.open("rb") as file:
        while length and (piece := file.read(min(length, PIECE))):
            total.update(piece)
            length -= len(piece)
    return total.hexdigest()


def _hash(said: bytes) -> str:
    """What stands where a hash should, fit for a terminal."""
    return said[:16].decode() if said[:16].isalnum() else "no hash"


class Reading:
    """An archive whose every byte was looked at."""

    def __init__(self, path: Path, packed: zipfile.ZipFile, about: dict[str, Any]) -> None:
        self.path, self._packed, self.about = path, packed, about
        self.tables = {name: Told(**one) for name, one in about["tables"].items()}

    @contextmanager
    def lines(self, table: str) -> Iterator[Iterator[bytes]]:
        """Open a table: its lines, the heading first."""
        with self._packed.open(_rows(table)) as file:
            yield iter(file)

    def photos(self) -> Iterator[tuple[str, bytes]]:
        """Return name and bytes of each photo; the name is what its bytes hash to."""
        for sha256 in self.about["photos"]["there"]:
            data = self._packed.read(_photo(sha256))
            if hashlib.sha256(data).hexdigest() != sha256:
                raise ArchiveRefused(f"photo {sha256}: expected bytes with this hash, got others")
            yield sha256, data


@contextmanager
def reading(path: Path) -> Iterator[Reading]:
    """Open an archive and look at every byte of it. Raises ArchiveRefused."""
    try:
        length = path.stat().st_size - HASH
        with path.open("rb") as file:
            file.seek(max(length, 0))
            said = file.read()
        found = _sum(path, length) if length > 0 else ""
    except OSError as error:
        raise ArchiveRefused(
            f"{path}: expected a file that can be read, got {got(error)}"
        ) from error
    if not found or found.encode() != said:
        raise ArchiveRefused(
            f"{path}: expected an archive as it was written, got one cut off or damaged: its "
            f"bytes hash to {found[:16] or 'nothing'}, it says {_hash(said)}"
        )
    try:
        with zipfile.ZipFile(path) as packed:
            about = json.loads(packed.read(ABOUT))
            if about["lastbolt archive"] != FORMAT:
                form = about["lastbolt archive"]
                raise ArchiveRefused(f"{path}: expected format {FORMAT}, got {form}")
            yield Reading(path, packed, about)
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError) as error:
        raise ArchiveRefused(f"{path}: expected an archive of ours, got: {error}") from error
