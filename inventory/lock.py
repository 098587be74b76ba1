"""One write lock for the ledger, taken before the first read of a writing transaction.

PostgreSQL: an advisory lock that ends with the transaction. SQLite: a blocking lock on a file
beside the database, taken before BEGIN IMMEDIATE, because writers that wait inside SQLite do so
by polling, unfairly and for seconds (measured with six writers).
"""

import fcntl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection, transaction

_LEDGER = 5_220_077  # any fixed number: the advisory lock of the ledger
_THREADS = threading.RLock()  # threads of one process, and databases that live in memory
_depth = threading.local()


@contextmanager
def writing() -> Iterator[None]:
    """Hold the ledger's lock for one transaction; inside another `writing` it only joins it."""
    if getattr(_depth, "held", False):
        with transaction.atomic():
            yield
        return
    with _THREADS, _file_lock():
        _depth.held = True
        try:
            with transaction.atomic():
                if connection.vendor == "postgresql":
                    with connection.cursor() as cursor:
                        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LEDGER])
                yield
        finally:
            _depth.held = False


@contextmanager
def _file_lock() -> Iterator[None]:
    name = str(connection.settings_dict["NAME"])
    if connection.vendor != "sqlite" or ":memory:" in name or "mode=memory" in name:
        yield
        return
    # A second handle on the lock file, never on the database: closing that would drop its locks.
    with Path(f"{name}.lock-file").open("a") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
