"""`make bench`: times the kit, the family check, the intake and scans, each beside a sync probe.

Writes its figures between the bench marks of DEVELOPERS.md, with the commit and the machine.
"""

import os
import sys
import tempfile
from pathlib import Path

from tests.bench import marks


def main() -> int:
    """Run every bench against a fresh SQLite file; return 0. A bench without a figure fails."""
    with tempfile.TemporaryDirectory(prefix="lastbolt-bench-") as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
        os.environ["DJANGO_SETTINGS_MODULE"] = "kitting.settings"
        import django

        django.setup()
        from tests.bench import bringing, checks, intake, kits, open_jobs, phone, runs, served
        from tests.bench import van_levels as vans

        place = Path(folder)
        lines = []
        for bench in (kits, checks, runs, intake, open_jobs, vans, served, phone, bringing):
            found = bench.figures(place)
            if not found:
                raise ValueError(f"{bench.__name__} measured nothing")
            lines += found
    marks.write("bench", lines)
    return 0


if __name__ == "__main__":
    sys.exit(main())
