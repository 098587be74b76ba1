"""Empty tables for the programs that tests start in processes of their own."""

import hashlib
import os
import shutil
from pathlib import Path

from django.core.management import call_command
from django.db import connection

KEPT = "TABLES_OF_THIS_RUN"
"""Names the SQLite file that is kept for such programs of a run; on PostgreSQL the database that is
kept is called after it."""


def make() -> None:
    """What `migrate` makes of the empty database. It takes six seconds, so it is made once in a
    run, for its tests or for the first such program, and copied."""
    if KEPT in os.environ and _take():
        return
    call_command("migrate", verbosity=0)
    # A PostgreSQL server on which the tests kept none is one test's own.
    if KEPT in os.environ and connection.vendor == "sqlite":
        keep()


def lay(file: Path) -> None:
    """The same as a new SQLite file, for a program that brings tables up to date by itself; none
    where none is kept."""
    kept = Path(os.environ.get(KEPT, ""))
    if kept.is_file():
        shutil.copy(kept, file)


def keep() -> None:
    """Keep the database as it is now, unless one is kept."""
    if connection.vendor == "postgresql":
        if not _is_there(_kept()):
            copy(str(connection.settings_dict["NAME"]), _kept())
    elif not Path(os.environ[KEPT]).is_file():
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [os.environ[KEPT]])


def _take() -> bool:
    """Whether one is kept; the database is what it was then."""
    name, kept = str(connection.settings_dict["NAME"]), Path(os.environ[KEPT])
    if connection.vendor == "postgresql":
        found = _is_there(_kept())
        if found:
            copy(_kept(), name)
        return found
    if kept.is_file():
        connection.close()
        shutil.copy(kept, name)
        return True
    return False


def _is_there(name: str) -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE datname = %s", [name])
        return cursor.fetchone() is not None


def copy(start: str, to: str) -> None:
    """Let the database `to` of our PostgreSQL server be what `start` is; nobody else is at work on
    them."""
    connection.close()
    with connection._nodb_cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {to} WITH (FORCE)")
        cursor.execute(f"CREATE DATABASE {to} TEMPLATE {start}")


def forget() -> None:
    """Leave nothing kept on the server."""
    if connection.vendor == "postgresql":
        with connection._nodb_cursor() as cursor:
            cursor.execute(f"DROP DATABASE IF EXISTS {_kept()} WITH (FORCE)")


def _kept() -> str:
    return f"lastbolt_tables_{hashlib.sha256(os.environ[KEPT].encode()).hexdigest()[:12]}"
