"""Kinds of file that can be brought in; each registers how its rows are judged and written.

Judging reads only. What is written is what was judged: each row as plain data, by codes and words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from inventory.incoming.columns import Cells, Column
from inventory.incoming.errors import Fault, Wrong
from inventory.incoming.tables import MOST_ROWS, Cell
from inventory.incoming.values import Numbers
from inventory.models import Event, Person
from inventory.moving import Writing

T = TypeVar("T")
Data = dict[str, Any]
"""A row as it is written: plain values that JSON can hold, things by their codes."""
NEW, CHANGE, SAME, WRONG = "new", "change", "same", "wrong"
FEW = 5_000  # rows of a kind that is written in one transaction, while a scan waits
FEW_CHANGED = 200  # of them those that change what is there, each with a note of who did it


@dataclass(frozen=True, slots=True)
class Change:
    """What is there already under another value."""

    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Found:
    """What one row says."""

    number: int
    state: str  # new, change, same, wrong
    about: str  # what it is about, for the preview
    data: Data = field(default_factory=dict)  # what is written; of new and change only
    changes: tuple[Change, ...] = ()
    faults: tuple[Fault, ...] = ()
    note: str = ""  # what a person should know though the row is good


class Asked:
    """One row while it is judged: reads cells, gathers what is wrong with them."""

    def __init__(self, cells: Cells) -> None:
        """cells: the row by the names of its columns."""
        self.cells, self.number = cells, cells.number
        self.faults: list[Fault] = []
        self.changes: list[Change] = []

    def read(self, name: str, reads: Callable[[Cell], T], default: T) -> T:
        """Return what a cell says, `default` where it is wrong; the fault is kept."""
        try:
            return reads(self.cells[name])
        except Wrong as error:
            self.wrong(name, str(error))
            return default

    def wrong(self, name: str, words: str) -> None:
        """Keep what is wrong in a column."""
        self.faults.append(self.cells.fault(name, words))

    def given(self, name: str) -> bool:
        """Whether the row says something in this column."""
        return self.cells[name] is not None

    def differs(self, name: str, old: object, new: object) -> None:
        """Keep a change, if it is one; texts are read with one blank between words."""
        if isinstance(old, str):
            old = " ".join(old.split())
        if old != new:
            self.changes.append(Change(name, str(old), str(new)))

    def found(self, about: str, data: Data, *, known: bool, note: str = "") -> Found:
        """Return what the row says. known: there is such a thing already."""
        if self.faults:
            return Found(self.number, WRONG, about, faults=tuple(self.faults))
        if not known:
            return Found(self.number, NEW, about, data, note=note)
        state = CHANGE if self.changes else SAME
        return Found(self.number, state, about, data, tuple(self.changes), note=note)


def nothing(writes: Writing, rows: Sequence[Data], done: Event) -> None:
    """What is written in one transaction has no half to take back."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file."""

    name: str  # in commands and addresses
    title: str  # on pages
    about: str  # what a row is
    columns: tuple[Column, ...]
    judge: Callable[[Sequence[Cells], Numbers, Person | None], list[Found]]
    write: Callable[[Writing, Sequence[Data]], None]  # raises CannotMove: then nothing of it is
    at_once: int = 0  # rows in one transaction; 0: all
    most: int = FEW
    most_changed: int = FEW_CHANGED  # of those that are written in one transaction
    undo: Callable[[Writing, Sequence[Data], Event], None] = nothing
    once: bool = False  # a file of it that was brought in is never taken again
    personal: bool = False  # its rows hold names and addresses: erased when it is over
    more: Callable[[], Sequence[Column]] = tuple  # columns that hang on what is loaded

    def headings(self) -> tuple[Column, ...]:
        """Return all columns that a file of this kind may have now."""
        return (*self.columns, *self.more())


KINDS: dict[str, Kind] = {}


def register(kind: Kind) -> None:
    """Let files of this kind be brought in; a second kind of a name is a fault."""
    if KINDS.setdefault(kind.name, kind) is not kind:
        raise ValueError(f"two kinds named {kind.name}")


def once_each(found: Sequence[Found], keys: Sequence[object], column: str) -> list[Found]:
    """Refuse rows whose key another row above has; None is no key."""
    first: dict[object, int] = {}
    told = []
    for one, key in zip(found, keys, strict=True):
        before = first.setdefault(key, one.number) if key is not None else one.number
        if before == one.number:
            told.append(one)
            continue
        words = f"expected each {column} once, got that of row {before} again"
        told.append(
            Found(
                one.number, WRONG, one.about, faults=(*one.faults, Fault(one.number, "", "", words))
            )
        )
    return told


ROWS = MOST_ROWS
