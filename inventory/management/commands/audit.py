"""Check the ledger against itself."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from inventory import audit
from inventory.digest import digest
from inventory.management.command import OurCommand
from inventory.witness import noted
from inventory.words import counted


class Command(OurCommand):
    """Check the ledger against itself: recompute all that stands beside it, and compare."""

    help = "Recompute what stands beside the ledger and compare; exit 1 on a breach."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One thing at a time: check, or the digest, or rebuild and then check."""
        parser.add_argument("--json", action="store_true", help="print one JSON object")
        parser.add_argument("--digest", action="store_true", help="print the SHA-256 of the state")
        parser.add_argument("--rebuild", action="store_true", help="write the side tables anew")
        parser.add_argument(
            "--witness",
            action="append",
            default=[],
            metavar="SIZE:ROOT",
            help="a record mark noted earlier: the record must only have been added to since",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print rows read and problems per check. Raises CommandError (exit 1) on a breach."""
        try:
            witnesses = [noted(text).check() for text in options["witness"]]
        except ValueError as error:
            raise CommandError(f"witness: {error}") from None
        if options["digest"]:
            self.stdout.write(json.dumps({"digest": digest()}) if options["json"] else digest())
            return
        if options["rebuild"]:
            audit.rebuild()
        finished = audit.run(witnesses)
        if options["json"]:
            checks = [{"name": f.name, "read": f.read, "problems": f.problems} for f in finished]
            self.stdout.write(json.dumps({"checks": checks}))
        else:
            for check in finished:
                word = "breach" if check.problems else "holds"
                self.stdout.write(f"{check.read:>8} read  {word:<6}  {check.name}")
        problems = [f"{check.name}: {words}" for check in finished for words in check.problems]
        if problems:
            shown = "\n".join(problems[:50])
            raise CommandError(f"{counted(len(problems), 'breach', 'breaches')}\n{shown}")
