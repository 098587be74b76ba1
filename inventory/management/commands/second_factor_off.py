"""manage.py second_factor_off USERNAME: the password alone opens again."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from inventory import second_factor
from inventory.management.command import OurCommand
from inventory.models import Person

REASON = "taken off on the server"


class Command(OurCommand):
    """For the last manager who lost phone and recovery codes; others ask a manager."""

    help = "Take somebody's second factor off; it is noted, and ends every sign-in of theirs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whose."""
        parser.add_argument("username", help="name that the person signs in with")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Take it off. Raises CommandError (exit 1) where nobody has the name, or there is none."""
        name = options["username"]
        person = Person.objects.filter(username=name).first()
        if person is None:
            raise CommandError(f"expected the name of somebody who works here, got {name}")
        if not second_factor.take_off(person, by=None, reason=REASON):
            raise CommandError(f"expected a second factor of {name}'s, found none")
        told = f"{name} signs in with the password alone now"
        self.stdout.write(json.dumps({"username": name, "told": told}) if options["json"] else told)
