"""XLSX, read by python-calamine in a process of its own with little memory and little time.

A file of 10 kB may name a cell in the last row and column, for which the reader sets aside the
whole square: that ends a child, not the server. What is packed is unpacked and counted before.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

from inventory.incoming.errors import FileRefused
from inventory.incoming.formulas import formula
from inventory.incoming.tables import MOST_ROWS, WIDEST, Cell, Row, Table, tabled

TOP = Path(__file__).resolve().parents[2]
UNPACKED = 120_000_000  # bytes of all parts together, as they come out
PARTS = 500
MEMORY = 1_500_000_000  # bytes of address space of the child, its libraries included
SECONDS = 20
LIMITS = (MEMORY, SECONDS, MOST_ROWS + 1, WIDEST)


def read(data: bytes) -> Table:
    """Return the first sheet that holds something. Raises FileRefused."""
    _weigh(data)
    answer = _asked(data)
    if "wrong" in answer:
        raise FileRefused(answer["wrong"])
    rows = [Row(number, tuple(map(_cell, cells))) for number, cells in answer["rows"]]
    told = f"sheet {answer['sheet'][:40]!r}"
    if answer["others"]:
        told += f"; {answer['others']} other sheets were not read"
    return tabled(rows, told)


def _weigh(data: bytes) -> None:
    """Unpack every part and count what comes out: the sizes that a file names may be untrue."""
    left = UNPACKED
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            if len(parts) > PARTS:
                raise FileRefused(f"expected at most {PARTS} parts in a sheet, got {len(parts)}")
            for part in parts:
                with packed.open(part) as opened:
                    while piece := opened.read(1 << 20):
                        left -= len(piece)
                        if left < 0:
                            most = UNPACKED // 1_000_000
                            raise FileRefused(f"expected at most {most} MB unpacked, got more")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, EOFError) as error:
        raise _no_sheet(type(error).__name__) from None
    except zipfile.zlib.error:  # type: ignore[attr-defined]  # the module it reads with
        raise _no_sheet("a broken part") from None


def _no_sheet(got: str) -> FileRefused:
    return FileRefused(f"expected a spreadsheet (.xlsx), got a file it cannot be read from: {got}")


def _asked(data: bytes) -> dict[str, Any]:
    try:
        done = subprocess.run(  # noqa: S603 - our own module, no shell
            [sys.executable, "-m", "inventory.incoming.opening", *map(str, LIMITS)],
            input=data,
            cwd=TOP,
            env={"PYTHONPATH": str(TOP)},  # none of the server's secrets
            capture_output=True,
            timeout=SECONDS * 2,
            check=False,
        )
        answer: dict[str, Any] = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, ValueError):
        raise _no_sheet("one that takes too much memory or time to open") from None
    return answer


def _cell(value: Any) -> Cell:
    if isinstance(value, dict):
        date: dt.date = dt.date.fromisoformat(value["day"])
        return date
    if isinstance(value, str):
        return value if formula(value) else value.strip(" \xa0")
    return None if value is None else value
