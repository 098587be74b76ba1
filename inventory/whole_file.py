"""A file that stands under its name whole, or not at all: others may read it at any moment."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SHARED, PRIVATE = 0o666, 0o600  # before the umask; private: names, addresses, hashes of passwords


@contextmanager
def whole_file(path: Path, mode: int = SHARED) -> Iterator[Path]:
    """Yield a new file beside `path` to fill; it takes that name when all of it is on the disk.

    What cannot be replaced (a device, a pipe) is yielded itself. Raises OSError; where anything is
    raised, what stood under the name before still does.
    """
    path = path.resolve()  # a link stays one
    if path.exists() and not path.is_file():
        yield path
        return
    # By chance: what a power cut left of an earlier one must not stand in the way.
    part = path.with_name(f".{path.name[:200]}.{secrets.token_hex(8)}.part")
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
    try:
        yield part
        _flush(part)
        part.replace(path)
        _flush(path.parent)
    finally:
        part.unlink(missing_ok=True)


def _flush(path: Path) -> None:
    """Have the disk keep it: a name must not outlive a power cut without its bytes."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
