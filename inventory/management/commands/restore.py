"""Restore an archive into an empty database."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from inventory.backup import restoring
from inventory.backup.errors import ArchiveRefused
from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from inventory.words import counted


class Command(OurCommand):
    """Restore an archive into the empty database that DATABASE_URL names, and compare all of it."""

    help = "Restore an archive into an empty database, SQLite or PostgreSQL, and compare."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where from."""
        parser.add_argument(
            "file", type=ToRead, help="what `backup` wrote, here or on the other database"
        )
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what was compared. Raises CommandError (exit 1) with all that differs."""
        try:
            found = restoring.restore(Path(options["file"]))
        except ArchiveRefused as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(asdict(found)))
            return
        how = "as in the archive" if found.same_version else "of this version; rows as archived"
        self.stdout.write(
            f"{counted(found.rows, 'row')}, {counted(found.photos, 'photo')} restored; "
            f"digest {found.digest}, {how}"
        )
        for name in found.bad:
            self.stdout.write(f"photo {name}: was gone or damaged when the archive was made")
