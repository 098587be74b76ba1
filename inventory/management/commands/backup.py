"""Write an archive of database and photos."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from inventory.backup import saving
from inventory.backup.errors import ArchiveRefused
from inventory.management.command import OurCommand
from inventory.management.paths import ToWrite
from inventory.words import counted


class Command(OurCommand):
    """Write an archive of the database as it is at one moment, with every photo."""

    help = "Write an archive of database and photos; scans go on meanwhile."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to."""
        parser.add_argument("file", type=ToWrite, help="a name that is not taken")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what it holds. Raises CommandError (exit 1): photos are bad, or it is not made."""
        try:
            saved = saving.save(Path(options["file"]))
        except ArchiveRefused as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps({"file": str(options["file"]), **asdict(saved)}))
        else:
            self.stdout.write(
                f"{options['file']}: {counted(saved.rows, 'row')}, "
                f"{counted(saved.photos, 'photo')}, "
                f"digest {saved.digest}"
            )
        if saved.bad:
            named = "\n".join(saved.bad)
            raise CommandError(
                f"the archive is made, with {counted(len(saved.bad), 'photo')} gone or damaged:\n"
                f"{named}"
            )
