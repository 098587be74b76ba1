"""Paths that people give to commands, and what is said of one that will not do."""

from __future__ import annotations

import os
from pathlib import PosixPath

from django.core.management.base import CommandError

from inventory.whole_file import got


class Given(PosixPath):
    """A path as it was given: the type of every argument that names a file."""

    def expect(self) -> None:
        """Do nothing where it will do. Raises CommandError, which names it as it was given."""


class ToRead(Given):
    """A file that is there, with something in it."""

    def expect(self) -> None:
        """Look before anything is begun."""
        try:
            self.open("rb").close() if self.is_file() else self.stat()
            empty = self.is_file() and not self.stat().st_size
        except (OSError, ValueError) as error:
            raise self._refused(got(error)) from error
        if self.is_dir() or empty:
            raise self._refused("a folder" if self.is_dir() else "an empty one")

    def _refused(self, words: str) -> CommandError:
        return CommandError(f"{self}: expected a file that can be read, got {words}")


class ToWrite(Given):
    """A file to write, or to write anew, in a folder that is there."""

    def expect(self) -> None:
        """Look before anything is begun; that the disk fills up is said by `whole_file`."""
        try:
            if self.exists() and not self.is_file():
                words = "a folder" if self.is_dir() else ""  # a device or pipe is written to
            elif not self.parent.is_dir():
                words = "a name in a folder that is not there"
            else:
                may = os.access(self.parent, os.W_OK | os.X_OK)
                words = "" if may else "one in a folder that this user may not write in"
        except (OSError, ValueError) as error:
            words = got(error)
        if words:
            raise CommandError(f"{self}: expected a file that can be written, got {words}")
