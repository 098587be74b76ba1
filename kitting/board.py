"""The week as a board: a row for each van, a column for each day, a card for each job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.models import Place
from kitting import vans, vans_out
from kitting.models import VanOut
from kitting.overviews import Day, Readiness, Row

LEGEND = (
    ("good", "ready"),
    ("wait", "under way"),
    ("warn", "somebody has to look"),
    ("stop", "will break"),
)
"""Tone -> what its shape on the board says."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One van on one day."""

    day: date
    rows: tuple[Row, ...]
    out: VanOut | None  # the van is out of service


@dataclass(frozen=True, slots=True)
class Lane:
    """One van's week; None: jobs that have no van yet."""

    van: Place | None
    cells: tuple[Cell, ...]


def lanes(days: Sequence[Day]) -> list[Lane]:
    """Return the week by van: those without a van first, then each van of the firm."""
    out = vans_out.all_standing()
    rows = [row for day in days for row in day.rows]
    found = []
    if any(row.job.van_id is None for row in rows):
        found.append(Lane(None, tuple(_cell(day, None, None) for day in days)))
    for van in vans.vans():
        row = out.get(van.pk)
        cells = tuple(_cell(day, van, row if row and row.on(day.day) else None) for day in days)
        if van.in_use or any(cell.rows for cell in cells):
            found.append(Lane(van, cells))
    return found


@dataclass(frozen=True, slots=True)
class Together:
    """Jobs of which the same word is all there is to say, by their days."""

    readiness: Readiness
    count: int
    days: tuple[tuple[date, tuple[Row, ...]], ...]


def together(rows: Sequence[Row]) -> list[Together]:
    """Return the rows that stand as they do for no reason of their own, a word at a time.

    `rows` in the order of their days; words in the order of their first row.
    """
    alike: dict[Readiness, dict[date, list[Row]]] = {}
    for row in rows:
        if not row.readiness.reasons:
            alike.setdefault(row.readiness, {}).setdefault(row.job.date, []).append(row)
    return [
        Together(
            readiness,
            sum(len(of) for of in days.values()),
            tuple((day, tuple(of)) for day, of in days.items()),
        )
        for readiness, days in alike.items()
    ]


def _cell(day: Day, van: Place | None, out: VanOut | None) -> Cell:
    mine = [row for row in day.rows if row.job.van_id == (van.pk if van else None)]
    return Cell(day.day, tuple(mine), out)
