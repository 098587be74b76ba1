"""What every command of ours keeps: exit 0 on success only, else 1, a plain reason on stderr."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db.utils import OperationalError, ProgrammingError

from inventory.management.paths import Given
from inventory.whole_file import NotWritten, got


class OurCommand(BaseCommand):
    """Looks at the paths that it was given before it begins, and ends as README.md says."""

    def run_from_argv(self, argv: list[str]) -> None:
        """Run; a wrong or missing argument exits 1 as every refusal does, and not with 2."""
        try:
            super().run_from_argv(argv)
        except SystemExit as end:
            sys.exit(1 if end.code else 0)

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Raises CommandError for what is no fault of ours: a file, the database, who reads."""
        try:
            for path in _paths(options):
                path.expect()
            return super().execute(*args, **options)
        except NotWritten as error:
            raise CommandError(str(error)) from error
        except BrokenPipeError as error:
            raise CommandError("standard output: whoever read it went away") from error
        except (OperationalError, ProgrammingError) as error:
            told = " ".join(str(error).split())
            words = f"database: expected one that answers and is of this version, got: {told}"
            raise CommandError(f"{words} (`migrate` brings it up)") from error
        except OSError as error:
            name = error.filename or "a file"
            words = f"{name}: expected a file that can be read or written, got {got(error)}"
            raise CommandError(words) from error


def _paths(options: dict[str, Any]) -> Iterator[Given]:
    for value in options.values():
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, Given):
                yield one
