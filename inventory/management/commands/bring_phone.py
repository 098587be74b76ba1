"""manage.py bring_phone FILE: what a phone saved to a file; --write takes it as its people's."""

from __future__ import annotations

from argparse import ArgumentParser
from collections import Counter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from inventory import phone_file
from inventory.phone_file import MOST_BYTES, PhoneFileRefused


class Command(BaseCommand):
    """Without --write it only looks; the same file twice is taken once."""

    help = "Show what a phone saved to a file; with --write, take it in as its people's."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, and whether it is taken in."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--write", action="store_true", help="take it in")

    def handle(self, *args: Any, **options: Any) -> None:
        """Look, and write where that is asked. Raises CommandError (exit 1)."""
        file = options["file"]
        try:
            with file.open("rb") as opened:
                data = opened.read(MOST_BYTES + 1)
        except OSError as error:
            raise CommandError(f"{file}: expected a file to read, got {error}") from error
        if len(data) > MOST_BYTES:
            raise CommandError(f"{file}: expected at most {MOST_BYTES:,} bytes, got more")
        try:
            device, rows = phone_file.read(data)
        except PhoneFileRefused as refusal:
            raise CommandError(f"{file.name}: {refusal}. Nothing was taken.") from refusal
        told = Counter((str(row.person), row.is_event) for row in rows)
        for (person, is_event), count in sorted(told.items()):
            self.stdout.write(f"{person}: {count} {'scanned' if is_event else 'photos and words'}")
        if not options["write"]:
            self.stdout.write("Nothing was changed. --write takes it in.")
            return
        brought = phone_file.bring_in(device, rows, timezone.now())
        for verdict, count in sorted(Counter(brought.verdicts).items()):
            self.stdout.write(f"{verdict}: {count}")
        self.stdout.write(f"photos and words kept: {brought.beside}")
        if brought.refused:
            raise CommandError("\n".join(brought.refused))
