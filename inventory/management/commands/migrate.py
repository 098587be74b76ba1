"""`manage.py migrate`: Django's own, without asking first for what it puts right itself."""

from typing import Any

from django.core.management.commands import migrate

from inventory.management.command import OurCommand


class Command(OurCommand, migrate.Command):
    """The guard's triggers are made after a migrate: a missing one must not refuse it."""

    def check(self, *args: Any, **options: Any) -> None:
        """Leave out the checks of the database as it is before; every later command asks them."""
        super().check(*args, **{**options, "databases": None})
