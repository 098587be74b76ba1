"""Published tables as data: each file says its source, edition and day of taking over in its first
lines."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parent / "tables"


@dataclass(frozen=True, slots=True)
class Published:
    """One table with its head."""

    source: str
    edition: str
    taken: str
    """Day the figures were taken over."""
    rows: tuple[dict[str, str], ...]


@cache
def table(name: str) -> Published:
    """A file of tables/ by its name.

    >>> table("iec_r20").edition
    'IEC 60228:2004'
    """
    lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    heads = [line[2:] for line in lines if line.startswith("# ")]
    said = dict(head.split(": ", 1) for head in heads if ": " in head)
    body = [line for line in lines if not line.startswith("#")]
    rows = tuple(csv.DictReader(body))
    return Published(said["Source"], said["Edition"], said["Taken over"], rows)


@cache
def editions() -> dict[str, str]:
    """Every table's name with its edition, for the snapshot of a kit."""
    return {path.stem: table(path.stem).edition for path in sorted(FOLDER.glob("*.csv"))}
