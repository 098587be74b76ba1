"""A second copy of the database for the bare driver: it starts from the same rows as ours."""

import os
import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import psycopg
from django.db import connection

Statements = list[tuple[str, Any]]
_MODES = ("PRAGMA journal_mode", "PRAGMA synchronous")


class Lite:
    """SQLite: the file is copied."""

    told = "SQLite, WAL and FULL read back"

    def __init__(self) -> None:
        self.name = Path(str(connection.settings_dict["NAME"]))
        self.twin = self.name.with_suffix(".twin")

    def copy(self) -> None:
        """Copy ours as it is now."""
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()
        _copy(self.name, self.twin)

    def restore(self) -> None:
        """Set ours back to the copy."""
        connection.close()
        for suffix in ("", "-wal", "-shm"):
            Path(f"{self.name}{suffix}").unlink(missing_ok=True)
        _copy(self.twin, self.name)

    def bare(self) -> sqlite3.Connection:
        """The driver alone on the copy, set up as ours is."""
        driver = sqlite3.connect(self.twin, isolation_level=None)
        driver.execute("PRAGMA journal_mode=WAL")
        driver.execute("PRAGMA synchronous=FULL")
        ours = connection.cursor()
        modes = [[one.execute(ask).fetchone()[0] for ask in _MODES] for one in (driver, ours)]
        assert modes == [["wal", 2], ["wal", 2]], modes  # 2 = FULL
        return driver

    def remove(self) -> None:
        """Take the copy away."""
        for suffix in ("", "-wal", "-shm"):
            Path(f"{self.twin}{suffix}").unlink(missing_ok=True)


class Post:
    """PostgreSQL: the database is the template of its copy."""

    told = "PostgreSQL, fsync and synchronous_commit read back"

    def __init__(self) -> None:
        self.name = str(connection.settings_dict["NAME"])
        self.twin = f"{self.name}_twin"

    def copy(self) -> None:
        """Copy ours as it is now."""
        self._make(self.twin, self.name)

    def restore(self) -> None:
        """Set ours back to the copy."""
        self._make(self.name, self.twin)

    def _make(self, new: str, template: str) -> None:
        connection.close()
        with self._driver("template1") as driver:
            driver.execute(f'DROP DATABASE IF EXISTS "{new}"')
            driver.execute(f'CREATE DATABASE "{new}" TEMPLATE "{template}"')

    def bare(self) -> psycopg.Connection[Any]:
        """The driver alone on the copy, set up as ours is."""
        driver = self._driver(self.twin)
        with connection.cursor() as ours:
            for setting in ("fsync", "synchronous_commit"):
                modes = [one.execute(f"SHOW {setting}").fetchone() for one in (driver, ours.cursor)]
                assert modes == [("on",), ("on",)], (setting, modes)
        return driver

    def remove(self) -> None:
        """Take the copy away."""
        with self._driver("template1") as driver:
            driver.execute(f'DROP DATABASE IF EXISTS "{self.twin}"')

    @staticmethod
    def _driver(name: str) -> Any:  # a statement is any text here
        where = re.sub(r"/\w+$", f"/{name}", os.environ["DATABASE_URL"])
        return psycopg.connect(
            where.replace("postgres://", "postgresql://"),
            autocommit=True,
            cursor_factory=psycopg.ClientCursor,  # as Django's
        )


def _copy(one: Path, other: Path) -> None:
    """Copy a file down to the disk: else the first checkpoint, ours or theirs, pays for it all."""
    shutil.copy(one, other)
    with other.open("rb") as file:
        os.fsync(file.fileno())


def twins() -> Lite | Post:
    """The way of the database that Django is set to."""
    return Post() if connection.vendor == "postgresql" else Lite()


def replay(driver: Any, statements: Statements) -> None:  # either driver
    """Carry out statements as they were written down."""
    for sql, params in statements:
        cursor = driver.execute(sql, params)
        if cursor.description:
            cursor.fetchall()


def noted(act: Callable[[], None]) -> Statements:
    """Carry out `act` and return its statements, those that begin and end a transaction too."""
    written: Statements = []
    lite = connection.vendor == "sqlite"

    def keep(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        begins = sql.startswith("BEGIN") if lite else "pg_advisory_xact_lock" in sql
        if begins and written:
            written.append(("COMMIT", ()))  # Django commits without a statement of its own
        if begins and not lite:
            written.append(("BEGIN", ()))  # and psycopg begins without one
        written.append(_plain(sql, params) if lite else (sql, params))
        return execute(sql, params, many, context)

    wrapped: AbstractContextManager[None] = connection.execute_wrapper(keep)
    with wrapped:
        act()
    return [*written, ("COMMIT", ())]


def _plain(sql: str, params: Any) -> tuple[str, Any]:
    """As the bare driver of SQLite takes it."""
    if isinstance(params, dict):
        return re.sub(r"%\((\w+)\)s", r":\1", sql), params
    return sql.replace("%s", "?"), tuple(params or ())
