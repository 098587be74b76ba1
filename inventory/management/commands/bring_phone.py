"""manage.py bring_phone FILE: what a phone saved to a file; --write takes it as its people's."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Sequence
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inventory import phone_file
from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from inventory.phone_file import MOST_BYTES, Brought, PhoneFileRefused, Row


class Command(OurCommand):
    """Without --write it only looks; the same file twice is taken once."""

    help = "Show what a phone saved to a file; with --write, take it in as its people's."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, and whether it is taken in."""
        parser.add_argument("file", type=ToRead, help="what the phone saved")
        parser.add_argument("--write", action="store_true", help="take it in")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Look, and write where that is asked. Raises CommandError (exit 1)."""
        file = options["file"]
        with file.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise CommandError(f"{file}: expected at most {MOST_BYTES:,} bytes, got more")
        try:
            device, rows = phone_file.read(data)
        except PhoneFileRefused as refusal:
            raise CommandError(f"{file.name}: {refusal}. Nothing was taken.") from refusal
        brought = phone_file.bring_in(device, rows, timezone.now()) if options["write"] else None
        told = _json if options["json"] else _told
        self.stdout.write(told(rows, brought))
        if brought is not None and brought.refused:
            raise CommandError("\n".join(brought.refused))


def _by_whom(rows: Sequence[Row]) -> list[tuple[str, bool, int]]:
    counts = Counter((str(row.person), row.is_event) for row in rows)
    return [(*key, count) for key, count in sorted(counts.items())]


def _told(rows: Sequence[Row], brought: Brought | None) -> str:
    lines = [
        f"{person}: {count} {'scanned' if is_event else 'photos and words'}"
        for person, is_event, count in _by_whom(rows)
    ]
    if brought is None:
        return "\n".join([*lines, "Nothing was changed. --write takes it in."])
    verdicts = [f"{word}: {count}" for word, count in sorted(Counter(brought.verdicts).items())]
    return "\n".join([*lines, *verdicts, f"photos and words kept: {brought.beside}"])


def _json(rows: Sequence[Row], brought: Brought | None) -> str:
    """ "took" is null where nothing was asked to be taken in."""
    holds = [
        {"person": person, "what": "scanned" if is_event else "photos and words", "count": count}
        for person, is_event, count in _by_whom(rows)
    ]
    took = brought and {
        "verdicts": Counter(brought.verdicts),
        "photos and words": brought.beside,
        "refused": list(brought.refused),
    }
    return json.dumps({"holds": holds, "took": took}, ensure_ascii=False)
