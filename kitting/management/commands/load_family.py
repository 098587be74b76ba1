"""manage.py load_family FILE: store an edition of a family and enter its items."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from kitting.families import EditionError, load
from kitting.plan.errors import FamilyError


class Command(BaseCommand):
    help = "Store an edition of a family. It never changes; the same text again changes nothing."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the family as TOML")
        parser.add_argument("--json", action="store_true", help="answer in JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        file: Path = options["file"]
        try:
            loaded = load(file.read_text(encoding="utf-8"), file.name)
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"{file}: expected a readable text file, got {error}") from error
        except (FamilyError, EditionError) as error:
            raise CommandError(str(error)) from error
        edition = loaded.edition
        for warning in loaded.warnings:
            self.stderr.write(warning)
        if options["json"]:
            answer = {
                "name": edition.name,
                "edition": edition.edition.isoformat(),
                "status": edition.status,
                "sha256": edition.sha256,
                "stored": loaded.fresh,
                "items_made": loaded.items_made,
                "warnings": list(loaded.warnings),
            }
            self.stdout.write(json.dumps(answer, ensure_ascii=False))
            return
        done = "stored" if loaded.fresh else "was stored before, nothing changed"
        self.stdout.write(f"{edition}: {done}; {loaded.items_made} new items.")
