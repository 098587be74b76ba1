"""Reading a whole database as it is at one moment, whatever is written meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection


@contextmanager
def one_moment() -> Iterator[None]:
    """Read the database as it is now, whatever is written meanwhile; nobody waits for it."""
    if connection.in_atomic_block:  # one moment already
        yield
        return
    connection.ensure_connection()
    # Not `atomic`: that would take SQLite's write lock.
    begin = (
        "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
        if connection.vendor == "postgresql"
        else "BEGIN DEFERRED"
    )
    with connection.cursor() as cursor:
        cursor.execute(begin)
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("ROLLBACK")
