"""A file as it comes -> a table, by the ending of its name; its SHA-256 names it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.incoming import books, texts
from inventory.incoming.columns import Column, names_of
from inventory.incoming.errors import FileRefused
from inventory.incoming.tables import MOST_BYTES, Table


@dataclass(frozen=True, slots=True)
class Choices:
    """What a person says of a file; "" leaves it to the file."""

    decimal: str = ""  # comma or point
    encoding: str = ""  # of a CSV file, one of texts.ENCODINGS
    delimiter: str = ""  # of a CSV file: semicolon, comma, tab, bar


def sha256(data: bytes) -> str:
    """Return the SHA-256 of a file, hex."""
    return hashlib.sha256(data).hexdigest()


def read(data: bytes, name: str, columns: Sequence[Column], choices: Choices) -> Table:
    """Return a file as a table. Raises FileRefused."""
    if len(data) > MOST_BYTES:
        raise FileRefused(f"expected at most {MOST_BYTES} bytes, got {len(data)}")
    ending = name.lower().rpartition(".")[2]
    if ending == "xlsx":
        return books.read(data)
    if ending in ("csv", "txt", "tsv"):
        known = names_of(columns).keys()
        return texts.read(data, known, choices.encoding, choices.delimiter)
    raise FileRefused(f"expected a name that ends in .csv or .xlsx, got {name[-40:]!r}")
