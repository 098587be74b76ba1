"""Empty tables for the programs that tests start in processes of their own."""

import os
import shutil
from pathlib import Path

from django.core.management import call_command
from django.db import connection

KEPT = "TABLES_OF_THIS_RUN"
"""Names the SQLite file that the first such program of a run keeps for the others."""


def make() -> None:
    """What `migrate` makes of the empty database. It takes four seconds, so SQLite's file is made
    once in a run and copied."""
    kept = Path(os.environ.get(KEPT, ""))
    if connection.vendor == "sqlite" and kept.is_file():
        connection.close()
        shutil.copy(kept, connection.settings_dict["NAME"])
        return
    call_command("migrate", verbosity=0)
    if connection.vendor == "sqlite" and KEPT in os.environ:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(kept)])
