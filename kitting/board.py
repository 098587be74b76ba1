"""The week as a board: a row for each van, a column for each day, a card for each job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.models import Place
from kitting import vans, vans_out
from kitting.models import VanOut
from kitting.overviews import Day, Row

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


def _cell(day: Day, van: Place | None, out: VanOut | None) -> Cell:
    mine = [row for row in day.rows if row.job.van_id == (van.pk if van else None)]
    return Cell(day.day, tuple(mine), out)
