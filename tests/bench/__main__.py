"""`make bench`: times the kit, the family check, the intake and scans, each beside a sync probe.

Writes its figures between the bench marks of DEVELOPERS.md, with the commit and the machine.
"""

import os
import platform
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BEGIN, END = "<!-- bench:begin -->", "<!-- bench:end -->"


def main() -> int:
    """Run every bench against a fresh SQLite file; return 0."""
    with tempfile.TemporaryDirectory(prefix="lastbolt-bench-") as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
        os.environ["DJANGO_SETTINGS_MODULE"] = "kitting.settings"
        sys.path.insert(0, str(ROOT))
        import django

        django.setup()
        from tests.bench import checks, intake, kits, open_jobs, served

        place = Path(folder)
        lines = [*kits.figures(), *checks.figures(place), *intake.figures(place)]
        lines += [*open_jobs.figures(place), *served.figures(place)]
    report = "\n".join([_where(), "", *lines])
    print(report)
    page = ROOT / "DEVELOPERS.md"
    text = page.read_text()
    before, after = text.split(BEGIN)[0], text.split(END)[1]
    page.write_text(f"{before}{BEGIN}\n{report}\n{END}{after}")
    return 0


def _where() -> str:
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    ).stdout.strip()
    return (
        f"Measured {datetime.now(UTC):%d %b %Y} at commit {commit} on {os.cpu_count()} cores, "
        f"{platform.machine()}, Python {platform.python_version()}."
    )


if __name__ == "__main__":
    sys.exit(main())
