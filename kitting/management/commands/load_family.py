"""manage.py load_family FILE: store an edition of a family; or make one from a sheet."""

from __future__ import annotations

import argparse
import datetime as dt
import json
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inventory.management.command import OurCommand
from inventory.management.paths import Given, ToRead, ToWrite
from inventory.whole_file import write_whole
from kitting import families, sheets
from kitting.families import EditionError, Loaded, Unproven
from kitting.management.commands.kit import read_text
from kitting.plan import drafting, first_hour
from kitting.plan.drafting import Draft
from kitting.plan.errors import PlanError

SHEETS = (".xlsx", ".csv")


class Command(OurCommand):
    """Stores what passes the check; a sheet becomes a trial, with every open need asked back."""

    help = "Store an edition of a family. It never changes; the same text again changes nothing."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("file", type=Given, help="the family as TOML, or a sheet (.xlsx, .csv)")
        parser.add_argument(
            "--template", action="store_true", help="write an empty sheet to FILE, load nothing"
        )
        parser.add_argument("--name", help="of a sheet: the family's name, in small letters")
        parser.add_argument("--title", default="", help="of a sheet: what people read")
        parser.add_argument("--edition", help="of a sheet: its date, else today")
        parser.add_argument(
            "--write", type=ToWrite, help="of a sheet: write the TOML, store nothing"
        )
        parser.add_argument(
            "--questions", type=ToWrite, help="write the sheet with its questions there"
        )
        parser.add_argument(
            "--example", type=ToWrite, help="write the smallest counter-example there"
        )
        parser.add_argument("--json", action="store_true", help="answer in JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        file: Path = options["file"]
        if options["template"]:
            self._template(file, options)
            return
        ToRead(file).expect()
        if file.suffix.lower() in SHEETS:
            self._sheet(file, options)
        else:
            self._tell(self._store(read_text(file), file.name, options), None, options)

    def _template(self, file: Path, options: dict[str, Any]) -> None:
        if file.suffix.lower() not in SHEETS or file.exists():
            wanted = "a new file that ends in .xlsx or .csv"
            got = "one that is there already" if file.exists() else file.name
            raise CommandError(f"--template: expected {wanted}, got {got}")
        ToWrite(file).expect()
        write_whole(file, [sheets.template(file.name)])
        told = f"{file}: an empty sheet, a row for each item and thing it is for."
        self.stdout.write(json.dumps({"file": str(file)}) if options["json"] else told)

    def _sheet(self, file: Path, options: dict[str, Any]) -> None:
        if not options["name"]:
            raise CommandError("--name: expected a name for the family, got nothing")
        try:
            data = file.read_bytes() if file.stat().st_size <= sheets.LARGEST + 1 else b""
            pages = sheets.pages_of(data, file.name)
            rows = first_hour.read(pages, file.name)
            day = _day(options["edition"])
            found = drafting.draft(rows, name=options["name"], title=options["title"], edition=day)
            if options["questions"]:
                name = options["questions"].name
                asked = sheets.with_questions(pages, found.questions, name)
                write_whole(options["questions"], [asked])
            if options["write"]:
                write_whole(options["write"], [found.text.encode()])
        except PlanError as error:
            raise CommandError(str(error)) from error
        where = f"{options['name']} from {file.name}"
        loaded = None if options["write"] else self._store(found.text, where, options)
        self._tell(loaded, found, options)

    def _store(self, text: str, where: str, options: dict[str, Any]) -> Loaded:
        try:
            return families.admit(text, where)
        except Unproven as error:
            if options["example"] and error.example is not None:
                told = json.dumps(error.example, indent=1)
                write_whole(options["example"], [told.encode()])
                out = self.stderr if options["json"] else self.stdout
                out.write(f"The smallest stack that shows it: {options['example']}")
            raise CommandError(str(error)) from error
        except (PlanError, EditionError) as error:
            raise CommandError(str(error)) from error

    def _tell(self, loaded: Loaded | None, found: Draft | None, options: dict[str, Any]) -> None:
        asked = [question.words for question in found.questions] if found else []
        warnings = list(loaded.warnings) if loaded else []
        for warning in warnings:
            self.stderr.write(warning)
        if options["json"]:
            told: dict[str, Any] = {"warnings": warnings, "stored": bool(loaded and loaded.fresh)}
            if loaded is not None:
                told |= _edition(loaded)
            if found is not None:
                told["questions"] = asked
            self.stdout.write(json.dumps(told, ensure_ascii=False))
            return
        if loaded is not None:
            done = "stored" if loaded.fresh else "was stored before, nothing changed"
            self.stdout.write(f"{loaded.edition}: {done}; {loaded.items_made} new items.")
            if loaded.edition.current_from is None:
                self.stdout.write("Not in use yet: a manager says so on the page Parts lists.")
        if found is not None and options["write"]:
            self.stdout.write(f"{options['write']}: written, nothing stored.")
        for words in asked:
            self.stdout.write(f"? {words}")


def _edition(loaded: Loaded) -> dict[str, Any]:
    edition = loaded.edition
    return {
        "name": edition.name,
        "edition": edition.edition.isoformat(),
        "status": edition.status,
        "sha256": edition.sha256,
        "items_made": loaded.items_made,
        "current": edition.current_from is not None,
    }


def _day(text: str | None) -> dt.date:
    if not text:
        return timezone.localdate()
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"--edition: expected a date as 2026-11-25, got {text!a}") from error
