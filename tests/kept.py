"""What a fixture enters into a database: worked out once in a run, then its rows copied.

A firm with its family and jobs takes a fifth to half a second to enter, and hundreds of tests begin
with the same one. What is copied was entered by the program itself, earlier in the same run; the
database was then as it is now: empty, or as another such fixture left it.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import date
from functools import wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

P, T = ParamSpec("P"), TypeVar("T")
Rows = dict[str, list[tuple[Any, ...]]]  # table -> its rows
Files = dict[Path, bytes]  # place below the media folder -> what is in it


def once(enter: Callable[P, T]) -> Callable[P, T]:
    """`enter` for tests: what it entered and returned first is there again each time.

    It adds rows and files and changes none that are there; `RuntimeError` where it does.
    """
    # Name of a database, what a kit is worked out with besides, the day -> what came of it there.
    kept: dict[tuple[str, float, date], tuple[Rows, Files, T]] = {}

    @wraps(enter)
    def entered(*given: P.args, **named: P.kwargs) -> T:
        day = timezone.now().date()
        where = str(connection.settings_dict["NAME"]), settings.KIT_CHANCE, day
        if where in kept:
            rows, files, made = kept[where]
            _put_back(rows, files)
            return copy.deepcopy(made)
        rows, files = _rows(), _files()
        made = enter(*given, **named)
        kept[where] = _added(rows, _rows()), _new(files), copy.deepcopy(made)
        return made

    return entered


def _rows() -> Rows:
    quoted, found = connection.ops.quote_name, Rows()
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.django_table_names(only_existing=True)):
            cursor.execute(f"SELECT * FROM {quoted(table)}")
            found[table] = cursor.fetchall()
    return found


def _added(before: Rows, after: Rows) -> Rows:
    added = {}
    for table, rows in after.items():
        new = [row for row in rows if row not in before[table]]
        if len(new) + len(before[table]) != len(rows):
            raise RuntimeError(f"expected rows added to {table}, got some changed or removed")
        if new:
            added[table] = new
    return added


def _files() -> Files:
    top = Path(settings.MEDIA_ROOT)
    found = (path for path in top.rglob("*") if path.is_file())
    return {path.relative_to(top): path.read_bytes() for path in found}


def _new(before: Files) -> Files:
    return {place: data for place, data in _files().items() if place not in before}


def _put_back(rows: Rows, files: Files) -> None:
    # In one transaction: a row may name one of a table that comes after its own.
    with transaction.atomic(), connection.cursor() as cursor:
        for table, new in rows.items():
            one = f"({', '.join(['%s'] * len(new[0]))})"
            into = f"INSERT INTO {connection.ops.quote_name(table)} VALUES "
            cursor.execute(
                into + ", ".join([one] * len(new)), [cell for row in new for cell in row]
            )
    for place, data in files.items():
        path = Path(settings.MEDIA_ROOT) / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
