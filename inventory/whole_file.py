"""A file that stands under its name whole, or not at all: others may read it at any moment."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

FULL = "a disk that takes no more"
WORDS = {
    errno.ENOENT: "nothing of that name",
    errno.ENOTDIR: "nothing of that name",
    errno.EISDIR: "a folder",
    errno.EACCES: "one that this user may not open",
    errno.EPERM: "one that this user may not open",
    errno.ENAMETOOLONG: "a name that is too long",
    errno.ELOOP: "a link that leads to itself",
    errno.EROFS: "a disk that may only be read",
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: FULL,
}
SHARED, PRIVATE = 0o666, 0o600  # before the umask; private: names, addresses, hashes of passwords


def got(error: OSError | ValueError) -> str:
    """Return what a path turned out to be, in words that stand behind "got"."""
    number = error.errno if isinstance(error, OSError) else None
    return WORDS.get(number or 0) or getattr(error, "strerror", None) or str(error)


class NotWritten(OSError):
    """A file was not written, and what stood under its name still does; tells the name given."""

    def __init__(self, path: Path, error: OSError) -> None:
        super().__init__(error.errno, error.strerror, str(path))
        unmade = error.errno == errno.ENOENT  # the folder is there, and no disk
        words = "one in a folder that takes no files" if unmade else got(error)
        self.words = f"{path}: expected a file that can be written, got {words}"

    def __str__(self) -> str:
        return self.words


@contextmanager
def whole_file(path: Path, mode: int = SHARED) -> Iterator[Path]:
    """Yield a new file beside `path` to fill; it takes that name when all of it is on the disk.

    What cannot be replaced (a device, a pipe) is yielded itself. Raises NotWritten; where anything
    is raised, what stood under the name before still does.
    """
    part = whole = Path(os.path.realpath(path))  # a link stays one
    try:
        if path.exists() and not path.is_file():
            yield path
            return
        # By chance: what a power cut left of an earlier one must not stand in the way.
        part = whole.with_name(f".{whole.name[:50]}.{secrets.token_hex(8)}.part")
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
        try:
            yield part
            _flush(part)
            part.replace(whole)
            _flush(whole.parent)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        if error.filename not in (None, *map(str, (part, whole, whole.parent))):
            raise  # of another file, read meanwhile
        raise NotWritten(path, error) from error


def write_whole(path: Path, parts: Iterable[bytes]) -> None:
    """Write a file whole or not at all. Raises NotWritten."""
    with whole_file(path) as part, part.open("wb") as file:
        file.writelines(parts)


def _flush(path: Path) -> None:
    """Have the disk keep it: a name must not outlive a power cut without its bytes."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
