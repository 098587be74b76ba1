"""`manage.py check_family FILE`: proves that every legal configuration has each need met once.
Needs no database."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import CommandError

from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from inventory.words import counted
from kitting.management.commands.kit import read_family
from kitting.plan import proof


class Command(OurCommand):
    """Prints what was checked; exits 1 with the faults where there are any."""

    help = "Checks a family file over all its legal configurations."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=ToRead, help="family file (TOML)")
        parser.add_argument("--json", action="store_true", help="the check as JSON")

    def handle(self, *args: object, **options: object) -> None:
        found = proof.check(read_family(Path(str(options["file"]))))
        told = found.as_json()
        if options["json"]:
            self.stdout.write(json.dumps(told))
        else:
            self.stdout.write(
                f"{told['configurations']} legal configurations"
                f" ({told['discrete']} without lengths and diameters),"
                f" {told['evaluated']} combinations worked out in {told['seconds']} s,"
                f" {counted(len(found.faults), 'fault')}"
            )
        if found.faults:
            if not options["json"] and told["counter_example"] is not None:
                self.stdout.write(json.dumps(told["counter_example"], indent=1))
            raise CommandError("\n".join(f"{f.kind}: {f.message}" for f in found.faults))
