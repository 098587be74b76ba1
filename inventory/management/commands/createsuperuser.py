"""`manage.py createsuperuser`: Django's own, which makes nobody who could not sign in."""

from __future__ import annotations

import json
import os
from typing import Any

from django.contrib.auth.management.commands import createsuperuser
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser

from inventory.management.command import OurCommand
from inventory.models import Person

VARIABLE = "DJANGO_SUPERUSER_PASSWORD"  # its name is Django's
WITHOUT = f"--noinput --username NAME --name WORDS, and the password in {VARIABLE}"


class Command(OurCommand, createsuperuser.Command):
    """On a terminal it asks for all that it needs; without one all of it has to be said."""

    help = "Make somebody who may do everything: how an empty firm gets its first person."

    def add_arguments(self, parser: CommandParser) -> None:
        """Whom, and how it is told."""
        super().add_arguments(parser)
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask, or take what was said. Raises CommandError (exit 1); then nobody is made."""
        if not options["interactive"]:
            self._judge(options["username"], options["name"])
        elif not self.stdin.isatty():
            raise CommandError(f"expected a terminal to ask on, got none: say {WITHOUT}")
        most = 0 if options["json"] else options["verbosity"]
        super().handle(*args, **{**options, "verbosity": most})
        if options["json"]:
            made = Person.objects.latest("pk")
            self.stdout.write(json.dumps({"username": made.username, "name": made.name}))

    def _judge(self, username: str | None, name: str | None) -> None:
        """Django's own judges no password that is not typed, and makes do without one."""
        password = os.environ.get(VARIABLE)
        given = {"--username": username, "--name": name, VARIABLE: password}
        if lacking := [what for what, value in given.items() if not value]:
            raise CommandError(f"expected {WITHOUT}, got no {', no '.join(lacking)}")
        try:
            validate_password(password or "", Person(username=username or "", name=name or ""))
        except ValidationError as error:
            raise CommandError(f"{VARIABLE}: {' '.join(error.messages)}") from error
