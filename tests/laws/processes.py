"""Starting our own programs on a database of their own, for the tests that cannot share one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import uuid4

import psycopg

from tests.counts import counts
from tests.tree import TOP

PATIENCE = counts(120, 7200)  # seconds
SERVER_SIDE = "tests.laws.server_side"


def environment(url: str) -> dict[str, str]:
    """Ours, without the developer's own settings, on this database."""
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("LASTBOLT_", "DJANGO_"))}
    return clean | {"DATABASE_URL": url, "PYTHONDONTWRITEBYTECODE": "1"}


def run(url: str, *arguments: str, module: str = SERVER_SIDE) -> Any:
    """Run a program of one of our modules to its end; what it printed as JSON."""
    command = [sys.executable, "-m", module, *arguments]
    done = subprocess.run(
        command,
        cwd=TOP,
        env=environment(url),
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout) if done.stdout.strip() else None


def audit(url: str) -> None:
    """The command itself must find nothing."""
    command = [sys.executable, "manage.py", "audit"]
    done = subprocess.run(
        command, cwd=TOP, env=environment(url), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@contextmanager
def own_database(server: str) -> Iterator[str]:
    """A fresh database on a PostgreSQL server, dropped at the end; `server` ends in its name."""
    name = f"lastbolt_{uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}".encode())
    try:
        yield f"{server.rpartition('/')[0]}/{name}"
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())
