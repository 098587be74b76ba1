"""Rows of any table as lines of JSON, the same on every database, and back.

A table is a heading line with the names of its columns, then one line a row, in order of its id.
"""

from __future__ import annotations

import base64
import datetime as dt
import json
from collections.abc import Iterator, Sequence
from typing import Any
from uuid import UUID

from django.apps.registry import Apps
from django.core.exceptions import ValidationError
from django.db import connection, models

from inventory.backup.errors import ArchiveRefused

Model = type[models.Model]
# Made anew by migrate, or by the next signing in: no state of the firm's.
LEFT_OUT = frozenset({"auth", "contenttypes", "sessions"})
SIGNING_IN = frozenset({"inventory.signin", "inventory.wrongpassword"})
AT_ONCE = 2000  # rows


def tables(apps: Apps) -> list[Model]:
    """Return the models whose rows are kept, those that join two others among them."""
    found = apps.get_models(include_auto_created=True)
    ours = [m for m in found if m._meta.app_label not in LEFT_OUT and m._meta.managed]
    ours = [model for model in ours if model._meta.label_lower not in SIGNING_IN]
    return sorted(ours, key=lambda model: model._meta.label_lower)


def filled(apps: Apps) -> list[str]:
    """Return the names of the tables that stand in this database and hold a row."""
    there = set(connection.introspection.table_names())
    ours = [model for model in tables(apps) if model._meta.db_table in there]
    return [m._meta.label_lower for m in ours if m._base_manager.exists()]


def lines(model: Model, like: bytes = b"") -> Iterator[bytes]:
    """Write a table: its heading, then its rows. like: a heading whose order is followed."""
    fields = _fields(model, json.loads(like)) if like else model._meta.concrete_fields
    yield _line([field.column for field in fields])
    rows = model._base_manager.order_by("pk").values_list(*(field.attname for field in fields))
    for row in rows.iterator(chunk_size=AT_ONCE):
        yield _line([_said(value) for value in row])


def _line(values: list[Any]) -> bytes:
    # Sorted: PostgreSQL keeps the keys of an object in another order than they came.
    text = json.dumps(values, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode() + b"\n"


def _said(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat()
    if isinstance(value, dt.date | UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(value).decode()
    return value


def enter(model: Model, told: Iterator[bytes]) -> int:
    """Insert the rows of a table as they stand, ids and times included; return how many.

    Raises ArchiveRefused with table, row and column.
    """
    fields = _fields(model, json.loads(next(told)))
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    table = quote(model._meta.db_table)
    insert = f"INSERT INTO {table} ({columns}) VALUES ({marks})"  # noqa: S608 - our own names
    count, batch = 0, list[list[Any]]()
    with connection.cursor() as cursor:
        for line in told:
            count += 1
            batch.append(_values(model, fields, count, json.loads(line)))
            if len(batch) >= AT_ONCE:
                cursor.executemany(insert, batch)
                batch.clear()
        if batch:
            cursor.executemany(insert, batch)
    return count


def _fields(model: Model, names: list[str]) -> Sequence[models.Field[Any, Any]]:
    known = {str(field.column): field for field in model._meta.concrete_fields}
    if set(names) != known.keys():
        odd = sorted(set(names) ^ known.keys())
        raise ArchiveRefused(
            f"table {model._meta.label_lower}: expected the columns of this version, got one more "
            f"or less: {', '.join(odd)}"
        )
    return [known[name] for name in names]


def _values(
    model: Model, fields: Sequence[models.Field[Any, Any]], number: int, row: list[Any]
) -> list[Any]:
    found = []
    for field, value in zip(fields, row, strict=True):
        where = f"table {model._meta.label_lower}, row {number}, column {field.column}"
        longest = getattr(field, "max_length", None)
        short = isinstance(field, models.CharField) and isinstance(value, str)
        if short and longest is not None and len(value) > longest:
            # SQLite keeps what is too long, PostgreSQL would not.
            raise ArchiveRefused(f"{where}: expected {longest} characters, got {len(value)}")
        if isinstance(value, str) and "\0" in value:
            raise ArchiveRefused(f"{where}: expected text without NUL, got some")
        binary = isinstance(field, models.BinaryField) and value is not None
        try:
            plain = base64.b64decode(value) if binary else field.to_python(value)
        except (ValidationError, ValueError, TypeError) as error:
            raise ArchiveRefused(f"{where}: expected a value of it, got {value!r}") from error
        found.append(field.get_db_prep_save(plain, connection))
    return found
