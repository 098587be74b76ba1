"""manage.py bring_in KIND FILE: judge a file's rows; with --write bring them in, all or none."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from inventory.bringing import running
from inventory.bringing.kinds import CHANGE, KINDS
from inventory.bringing.looking import TOLD, Look, look
from inventory.bringing.running import CannotBringIn
from inventory.incoming.errors import FileRefused
from inventory.incoming.reading import Choices
from inventory.incoming.tables import MOST_BYTES
from inventory.incoming.texts import ENCODINGS, MARKS
from inventory.incoming.values import MARKS as DECIMALS
from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from inventory.models import BroughtFile, Person, Role
from inventory.words import counted


class Command(OurCommand):
    """Without --write it only looks; with it, the file comes in whole or not at all."""

    help = "Bring in a CSV or XLSX file; without --write, judge its rows and change nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What the file holds, the file, how to read it, what may be done with it."""
        parser.add_argument("kind", choices=sorted(KINDS))
        parser.add_argument("file", type=ToRead, help="CSV or XLSX")
        parser.add_argument("--write", action="store_true", help="bring it in")
        parser.add_argument("--change", action="store_true", help="allow what changes known things")
        parser.add_argument("--take-back", action="store_true", help="a file that was only begun")
        parser.add_argument("--by", default="", help="username of the manager who answers for it")
        parser.add_argument("--decimal", choices=sorted(DECIMALS), default="")
        parser.add_argument("--encoding", choices=sorted(ENCODINGS), default="")
        parser.add_argument("--delimiter", choices=sorted(MARKS.values()), default="")
        parser.add_argument("--json", action="store_true", help="answer in JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Look, say what was found, and write it where that is asked."""
        kind, file = KINDS[options["kind"]], options["file"]
        choices = Choices(options["decimal"], options["encoding"], options["delimiter"])
        with file.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
        by = _by(options["by"]) if options["write"] or options["take_back"] else None
        try:
            seen = look(kind, data, file.name, choices, by)
            done = self._write(seen, data, by, options) if by is not None else None
        except (FileRefused, CannotBringIn) as error:
            raise CommandError(f"{file.name}: {error}") from error
        self._tell(seen, done, options)
        if seen.faults and done is None:
            told = "\n".join(str(fault) for fault in seen.faults[:TOLD])
            more = len(seen.faults) - TOLD
            rest = f"\nand {more} more" if more > 0 else ""
            raise CommandError(f"{file.name}: {counted(len(seen.faults), 'fault')}\n{told}{rest}")
        if done is None and seen.changed and not options["change"]:
            words = f"{counted(seen.changed, 'row')} would change what is there; --change allows it"
            raise CommandError(f"{file.name}: {words}")

    def _write(
        self, seen: Look, data: bytes, by: Person, options: dict[str, Any]
    ) -> BroughtFile | None:
        """Bring the file in, go on with one that was begun, or take that one back."""
        begun = seen.before if seen.before and not seen.finished else None
        if options["take_back"] or (begun is not None and begun.turned_at is not None):
            if begun is None:
                raise CannotBringIn("expected a file that was begun and not finished, got none")
            running.take_back(begun, by, "Taken back by hand.")
            return begun
        if begun is not None:
            return running.go_on(begun, by)
        if seen.faults or not seen.to_write or (seen.changed and not options["change"]):
            return None
        file = running.keep(seen.kind, seen.name, seen.choices, data, by)
        running.begin(file, seen, change=options["change"])
        return running.go_on(file, by)

    def _tell(self, seen: Look, done: BroughtFile | None, options: dict[str, Any]) -> None:
        if options["json"]:
            self.stdout.write(json.dumps(_as_json(seen, done), ensure_ascii=False))
            return
        self.stdout.write(f"{seen.name}: {seen.told}.")
        counts = f"{seen.new} new, {seen.changed} changed, {seen.same} there already"
        self.stdout.write(f"{counted(len(seen.found), 'row')}: {counts}, {seen.wrong} wrong.")
        for one in [one for one in seen.found if one.state == CHANGE][:TOLD]:
            for change in one.changes:
                told = (
                    f"row {one.number}: {one.about}: {change.column} {change.old} -> {change.new}"
                )
                self.stdout.write(told)
        for one in [one for one in seen.found if one.note][:TOLD]:
            self.stdout.write(f"row {one.number}: {one.about}: {one.note}")
        if done is not None:
            self.stdout.write(f"{done.code}: {done.state}, {counted(done.rows, 'row')}.")
        elif seen.finished:
            self.stdout.write(f"This file came in before as {seen.before}: nothing changed.")


def _as_json(seen: Look, done: BroughtFile | None) -> dict[str, Any]:
    file = done or seen.before
    return {
        "file": seen.name,
        "sha256": seen.sha256,
        "kind": seen.kind.name,
        "read": seen.told,
        "rows": len(seen.found),
        "new": seen.new,
        "changed": seen.changed,
        "same": seen.same,
        "wrong": seen.wrong,
        "faults": [
            {"row": f.row, "column": f.column, "letter": f.letter, "words": f.words}
            for f in seen.faults
        ],
        "changes": [
            {"row": one.number, "column": c.column, "old": c.old, "new": c.new}
            for one in seen.found
            for c in one.changes
        ],
        "notes": [{"row": one.number, "words": one.note} for one in seen.found if one.note],
        "state": file.state if file else "",
        "code": file.code if file else "",
    }


def _by(username: str) -> Person:
    """The manager who answers for it. Raises CommandError."""
    people = Person.objects.filter(is_active=True).order_by("username")
    managers = [person for person in people if person.has(Role.MANAGER)]
    named = [person for person in managers if person.username == username]
    if username and not named:
        raise CommandError(f"--by: expected the username of a manager, got {username!r}")
    if named or len(managers) == 1:
        return (named or managers)[0]
    words = "none is entered" if not managers else "several are: name one"
    raise CommandError(f"--by: expected one manager, {words}")
