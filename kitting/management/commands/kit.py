"""`manage.py kit CONFIG.json`: what a job takes, by step, with why. Needs no database."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError

from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from kitting.plan import configuration, family, kit, schema, why, why_not, wording
from kitting.plan.configuration import Configuration
from kitting.plan.errors import ConfigurationError, PlanError
from kitting.plan.family import Family
from kitting.plan.kit import Kit

NOTHING = (
    *("lines", "cautions", "tasks", "unresolved", "comes_back", "renewed", "moves"),
    *("taken_both", "answered"),
)
LARGEST = 1_000_000
"""Bytes of a configuration or family file; more is no parts list."""


class Command(OurCommand):
    """Prints a kit; exits 1 with every reason where the configuration is refused."""

    help = "Works out the kit of a configuration."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("config", nargs="?", type=ToRead, help="configuration file (JSON)")
        parser.add_argument(
            "--family", type=ToRead, help="family file (TOML); else found by its name"
        )
        parser.add_argument("--json", action="store_true", help="the kit as JSON")
        parser.add_argument("--why", metavar="ITEM", help="why so many of an item, or why none")
        parser.add_argument("--schema", action="store_true", help="print the JSON Schemas")

    def handle(self, *args: object, **options: object) -> None:
        given = options["family"]
        if options["schema"]:
            known = read_family(Path(str(given))) if given else None
            schemas = {"configuration": schema.configuration(known), "kit": schema.KIT}
            schemas["why"] = schema.WHY
            self.stdout.write(json.dumps(schemas, indent=1))
            return
        if not options["config"]:
            raise CommandError("expected a configuration file, got nothing")
        data = read_json(Path(str(options["config"])))
        known = read_family(Path(str(given)) if given else family_file(data))
        self._show(data, known, bool(options["json"]), str(options["why"] or ""))

    def _show(self, data: object, known: Family, as_json: bool, asked: str) -> None:
        try:
            given = configuration.parse(data, known)
        except ConfigurationError as error:
            refused = [{"rule": f.key or f.where, "message": f.message} for f in error.faults]
            if as_json:
                empty: dict[str, object] = {key: [] for key in NOTHING} | {"charge": None}
                self.stdout.write(json.dumps({**empty, "refused": refused}))
            raise CommandError(str(error)) from error
        found = kit.work_out(known, given)
        if asked and not found.refused:
            self._why(known, given, found, asked, as_json)
            return
        text = json.dumps(found.as_json()) if as_json else wording.text(known, found)
        self.stdout.write(text)
        if found.refused:
            reasons = "\n".join(f"{r.rule}: {r.message}" for r in found.refused)
            raise CommandError(f"refused:\n{reasons}")

    def _why(
        self, known: Family, given: Configuration, found: Kit, asked: str, as_json: bool
    ) -> None:
        code = why_not.code_of(known, asked)
        if not code:
            raise CommandError(why_not.unlisted(known, asked))
        told = why.explain(known, given, found, code)
        text = json.dumps(told.as_json()) if as_json else wording.why_text(known, told)
        self.stdout.write(text)


def read_text(path: Path) -> str:
    """A file of ours as text. Raises CommandError."""
    try:
        if path.stat().st_size > LARGEST:
            raise CommandError(f"{path}: expected at most {LARGEST} bytes, got more")
        return path.read_text(encoding="utf-8")
    except ValueError:
        words = f"{path}: expected a readable text file, got bytes that are no UTF-8"
        raise CommandError(words) from None


def read_json(path: Path) -> object:
    """JSON data of a file. Raises CommandError."""
    try:
        return json.loads(read_text(path))
    except (ValueError, RecursionError) as error:
        raise CommandError(f"{path}: expected JSON, got {error}") from error


def read_family(path: Path) -> Family:
    """A family of a file. Raises CommandError with every fault."""
    try:
        return family.parse(read_text(path), path.name)
    except PlanError as error:
        raise CommandError(str(error)) from error


def family_file(data: object) -> Path:
    """Where the family that a configuration names is kept. Raises CommandError."""
    folder = Path(settings.BASE_DIR) / "fixtures" / "families"
    known = {path.stem: path for path in sorted(folder.glob("*.toml"))}
    name = data.get("family") if isinstance(data, dict) else None
    if not isinstance(name, str) or name not in known:
        listed = ", ".join(known)
        raise CommandError(f"configuration: family: expected one of {listed}, got {name!a}")
    return known[name]
