"""Empty tables for the programs that tests start in processes of their own."""

import hashlib
import os
import shutil
from pathlib import Path

from django.core.management import call_command
from django.db import connection

KEPT = "TABLES_OF_THIS_RUN"
"""Names the SQLite file that the first such program of a run keeps for the others; on PostgreSQL
the database that is kept is called after it."""


def make() -> None:
    """What `migrate` makes of the empty database. It takes four seconds, so it is made once in a
    run and copied."""
    if KEPT not in os.environ:
        call_command("migrate", verbosity=0)
    elif connection.vendor == "sqlite":
        _on_sqlite(Path(os.environ[KEPT]))
    else:
        _on_postgresql(_kept())


def _on_sqlite(kept: Path) -> None:
    if kept.is_file():
        connection.close()
        shutil.copy(kept, connection.settings_dict["NAME"])
        return
    call_command("migrate", verbosity=0)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(kept)])


def _on_postgresql(kept: str) -> None:
    name = str(connection.settings_dict["NAME"])
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE datname = %s", [kept])
        if cursor.fetchone():
            copy(kept, name)
            return
    call_command("migrate", verbosity=0)
    copy(name, kept)


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
