"""`make test`: the pure rooms' tests, all others on SQLite, those that use a database again on
PostgreSQL, and the browser's pages.

All four parts run at once: those on PostgreSQL and in chromium wait for their server or their page
a good part of the time, and the others fill what is left of two cores, the longest first, so that
none is left alone at the end. What runs beside the part on SQLite is shown when it is done.
TESTS=sqlite leaves PostgreSQL and chromium out. Arguments go to
pytest: `python -m tests.run tests/ledger`. What came of the phones' day without signal is written
to REPORTS, a folder, and must be one state on both databases.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from xml.etree import ElementTree as ET

from tests import postgres
from tests.rooms import BROWSER, PURE

NO_TESTS_COLLECTED = 5  # pytest's exit code
# As in the child that reads photos: small sums by two threads cost ten times their work in waiting.
ALONE = {"OPENBLAS_NUM_THREADS": "1"}
OURS = (
    *("DATABASE_URL", "LASTBOLT_"),  # a developer's own settings must not leak into the tests
    "PYTHONDONTWRITEBYTECODE",  # each program that a test starts would compile all modules anew
)


def without(*folders: str) -> list[str]:
    """To read the tests of folders in which none is chosen takes seconds of each part."""
    return [f"--ignore={folder}" for folder in folders]


def phase(
    title: str,
    chosen: str,
    extra: list[str],
    *,
    where: Sequence[str] = (),
    aside: bool = False,
    gives_way: int = 5,
    **environment: str,
) -> tuple[str, bool]:
    """Run one part in one process; its summary line and whether it passed.

    `where` says in which folders all that is chosen lies, if the caller names nothing in `extra`. A
    part in which nothing ran has not passed, unless the caller did. One that runs `aside` of
    another keeps what it prints until it is done. `gives_way`: to the others, as `nice` counts.
    """
    clean = {name: value for name, value in os.environ.items() if not name.startswith(OURS)}
    # Each browser test empties its database: on a disk that is two seconds of waiting. Open to all,
    # for servers that tests start run as another user when we are root.
    with tempfile.TemporaryDirectory(prefix="lastbolt-", dir=postgres.in_haste()) as folder:
        Path(folder).chmod(0o755)
        clean["TMPDIR"] = folder
        report = Path(folder) / "report.xml"
        command = [sys.executable, "-m", "pytest", "-m", chosen, f"--junitxml={report}"]
        command += extra or where
        if shutil.which("nice"):
            command = ["nice", "-n", str(gives_way), *command]
        print(f"--- {title}" + (" begins" if aside else ""), flush=True)
        kept = Path(folder) / "printed.txt"
        with kept.open("w") as shown:
            to = shown if aside else None
            run = subprocess.run(
                command, env=clean | ALONE | environment, check=False, stdout=to, stderr=to
            )
        code = run.returncode
        if aside:
            print(f"--- {title}", kept.read_text(errors="replace"), sep="\n", flush=True)
        if code == NO_TESTS_COLLECTED and extra:
            return f"tests {title}: none chosen", True
        if not report.exists():
            return f"tests {title}: did not run", False
        totals = ET.parse(report).getroot()[0].attrib
    failed = int(totals["failures"]) + int(totals["errors"])
    skipped = int(totals["skipped"])
    passed = int(totals["tests"]) - failed - skipped
    line = f"tests {title}: {passed} passed, {failed} failed, {skipped} skipped"
    return line, code == 0 and passed > 0


def on_postgresql(extra: list[str]) -> tuple[str, bool]:
    try:
        with postgres.server() as url:
            title = f"on postgresql {postgres.version(url)}"
            chosen = "not browser or both_databases"
            where = without(*PURE)
            # The longest, and never more than one core's work: it gives way to pages alone.
            return phase(
                title, chosen, extra, where=where, aside=True, gives_way=2, DATABASE_URL=url
            )
    except Exception as error:  # whatever stops the server from starting fails the run
        return f"tests on postgresql: could not start: {error}", False


def in_chromium(extra: list[str]) -> tuple[str, bool]:
    # A page that a busy machine keeps waiting is another page than people see.
    return phase("in chromium", "browser", extra, where=[BROWSER], aside=True, gives_way=0)


def of_pure_rooms(extra: list[str]) -> tuple[str, bool]:
    return phase("of the pure rooms", "pure", extra, where=PURE, aside=True, gives_way=12)


def one_state(folder: Path) -> list[tuple[str, bool]]:
    """Whether the same day left the same state on both databases; nothing unless both tell."""
    told = [json.loads(path.read_text()) for path in sorted(folder.glob("offline-*.json"))]
    if len(told) < 2:
        return []
    same = len({one["state"] for one in told}) == 1
    word = "the same" if same else "NOT the same"
    return [(f"state after a day without signal: {word} on {len(told)} databases", same)]


def main(extra: list[str]) -> int:
    with tempfile.TemporaryDirectory() as folder:
        reports = Path(os.environ.setdefault("REPORTS", folder))
        for old in reports.glob("offline-*.json"):
            old.unlink()
        return run_all(extra, reports)


def run_all(extra: list[str], reports: Path) -> int:
    everything = os.environ.get("TESTS") != "sqlite"
    others = (on_postgresql, in_chromium, of_pure_rooms) if everything else (of_pure_rooms,)
    with ThreadPoolExecutor(len(others)) as lanes:
        beside = [lanes.submit(part, extra) for part in others]
        chosen = "not pure and not browser and not postgres_only"
        results = [phase("on sqlite", chosen, extra, where=without(*PURE, BROWSER))]
        results += [lane.result() for lane in beside]
    results += one_state(reports)
    print(*(line for line, _ in results), sep="\n")
    return 0 if all(passed for _, passed in results) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
