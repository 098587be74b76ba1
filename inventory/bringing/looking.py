"""A file looked at: every row judged, nothing written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.bringing.kinds import CHANGE, NEW, SAME, WRONG, Found, Kind
from inventory.incoming import reading
from inventory.incoming.columns import heads, rows_of
from inventory.incoming.errors import Fault, FileRefused
from inventory.incoming.reading import Choices
from inventory.incoming.values import MARKS, Numbers
from inventory.models import BroughtFile, Person

TOLD = 200  # faults that are printed one by one


@dataclass(frozen=True, slots=True)
class Look:
    """What a file says."""

    kind: Kind
    name: str
    choices: Choices
    sha256: str  # of the bytes, hex
    told: str  # how it was read
    found: tuple[Found, ...]
    faults: tuple[Fault, ...]  # of headings and of all rows, in their order
    before: BroughtFile | None = None  # the same file, brought in or begun

    def count(self, state: str) -> int:
        """Return how many rows are new, change, same or wrong."""
        return sum(one.state == state for one in self.found)

    @property
    def new(self) -> int:
        """Rows of things that are not there yet."""
        return self.count(NEW)

    @property
    def changed(self) -> int:
        """Rows that say something else than what is there."""
        return self.count(CHANGE)

    @property
    def same(self) -> int:
        """Rows of what is there already."""
        return self.count(SAME)

    @property
    def wrong(self) -> int:
        """Rows that cannot be brought in."""
        return self.count(WRONG)

    @property
    def to_write(self) -> list[Found]:
        """Rows that say something new."""
        return [one for one in self.found if one.state in (NEW, CHANGE)]

    @property
    def finished(self) -> bool:
        """Whether this very file was brought in and may not come twice."""
        return self.before is not None and self.before.finished_at is not None

    @property
    def plan(self) -> str:
        """SHA-256 of the file and of what would be written: what a person confirms, hex."""
        rows = [
            (one.number, one.state, one.data, [str(c) for c in one.changes]) for one in self.found
        ]
        text = json.dumps([self.sha256, self.kind.name, rows], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()


def look(kind: Kind, data: bytes, name: str, choices: Choices, by: Person | None) -> Look:
    """Read a file and judge all its rows. Raises FileRefused where it cannot be read."""
    if choices.decimal and choices.decimal not in MARKS:
        wanted = " or ".join(MARKS)
        raise FileRefused(f"decimal: expected {wanted}, got {choices.decimal[:20]!r}")
    columns = kind.headings()
    table = reading.read(data, name, columns, choices)
    if len(table.rows) > kind.most:
        got = len(table.rows)
        raise FileRefused(f"expected at most {kind.most} rows, got {got}: split the file")
    sha256 = reading.sha256(data)
    places, wrong = heads(table, columns)
    before = known(kind, sha256)
    if wrong:
        return Look(kind, name, choices, sha256, table.told, (), tuple(wrong), before)
    found: Sequence[Found] = kind.judge(list(rows_of(table, places)), Numbers(choices.decimal), by)
    if kind.once and before is not None and before.finished_at is not None:
        found = [Found(one.number, SAME, one.about) for one in found]
    faults = tuple(fault for one in found for fault in one.faults)
    seen = Look(kind, name, choices, sha256, table.told, tuple(found), faults, before)
    if not kind.at_once and seen.changed > kind.most_changed:
        words = f"expected at most {kind.most_changed} rows that change what is there"
        raise FileRefused(f"{words}, got {seen.changed}: split the file")
    return seen


def known(kind: Kind, sha256: str) -> BroughtFile | None:
    """Return this very file where it was brought in, or begun, and not taken back."""
    rows = BroughtFile.objects.filter(kind=kind.name, sha256=sha256, taken_back_at=None)
    return rows.exclude(begun_at=None).order_by("-pk").first()
