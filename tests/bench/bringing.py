"""Files of 50,000 rows brought in by the command, while somebody scans over HTTP all the time.

Each database in a process of its own. The longest wait of a scan with nothing else going on stands
beside it, and the sync probe.
"""

import os
import resource
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import StringIO
from itertools import count
from pathlib import Path

import django

django.setup()

import openpyxl  # noqa: E402  # what stands here needs the settings
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402

from inventory import audit  # noqa: E402
from inventory.bringing.kinds import FEW  # noqa: E402
from inventory.models import Holding, Item, Person, Place, Role, Unit  # noqa: E402
from tests.bench import intake  # noqa: E402
from tests.bench.probe import part, sync_ms  # noqa: E402
from tests.bench.serving import Sender, server  # noqa: E402
from tests.postgres import server as postgresql  # noqa: E402
from tests.tree import TOP  # noqa: E402

ROWS, BINS, KINDS = 50_000, 500, 100
GOAL_S, GOAL_MS = 20, 200
PACE = 0.1  # seconds from one scan to the next: far faster than hands
ALONE = 5.0  # seconds of scans with nothing else going on
WARM = 6  # first scans that are not counted: a worker loads its code on the first
HEADS = {
    "serial": "place;item;serial;made on",
    "quantity": "place;item;quantity",
    "item": "code;name;followed;cost",
}
Rows = Iterator[tuple[str, ...]]


def figures(folder: Path) -> list[str]:
    """Return seconds for a file, and the longest wait of a scan meanwhile, on both databases."""
    lines = _measured(f"sqlite:///{folder}/bringing.sqlite3", folder)
    with postgresql(haste=False) as url:
        return lines + _measured(url, folder)


def _measured(url: str, folder: Path) -> list[str]:
    command = [sys.executable, "-m", "tests.bench.bringing", str(folder)]
    here = {**os.environ, "DATABASE_URL": url}
    done = subprocess.run(command, cwd=TOP, env=here, stdout=subprocess.PIPE, check=True)
    return done.stdout.decode().splitlines()


def main(folder: Path) -> None:
    """Print the figures of an empty database that this process fills."""
    person, device = intake.fill()
    _shelves()
    _recall(folder)
    files = [
        (
            "stock",
            f"{ROWS:,} things with serials, CSV",
            _csv(folder / "a.csv", "serial", _serials("A")),
        ),
        (
            "stock",
            f"{ROWS:,} things with serials, XLSX",
            _xlsx(folder / "b.xlsx", "serial", _serials("B")),
        ),
        ("stock", f"{ROWS:,} quantities, CSV", _csv(folder / "c.csv", "quantity", _quantities(7))),
        (
            "items",
            f"{FEW:,} new items, CSV, in one piece",
            _csv(folder / "d.csv", "item", _items()),
        ),
    ]
    with server() as served:
        scanner = Scanner(Sender(served, person, device))
        for _ in range(WARM):
            scanner.scan()
        scanner.waits = []
        with scanner.at_work():
            time.sleep(ALONE)
        alone = scanner.waits
        for kind, what, file in files:
            scanner.waits, sync = [], []
            with scanner.at_work():
                took = _brought(kind, file, lambda known=sync: known.extend(sync_ms(folder, 1)))
            print(_told(what, took, scanner.waits, alone, sync))
    assert Unit.objects.count() == intake.UNITS + 2 * ROWS
    assert Holding.objects.filter(lot__item__tracking="count", quantity=7).count() == ROWS
    problems = [words for one in audit.run() for words in one.problems]
    assert not problems, problems[:5]


def _told(
    what: str, took: tuple[float, float], waits: list[float], alone: list[float], sync: list[float]
) -> str:
    return (
        f"- {what}, brought in on {connection.vendor} by the command: {took[0]:.1f} s, "
        f"{took[1]:.1f} s of a core (goal {GOAL_S} s); meanwhile {len(waits)} scans over "
        f"HTTP, p50 {part(waits, 0.5):.0f} ms, longest {max(waits):.0f} ms (goal {GOAL_MS} ms), "
        f"with nothing else going on p50 {part(alone, 0.5):.0f} ms, "
        f"longest of {len(alone)} {max(alone):.0f} ms; "
        f"sync probe beside it median {part(sync, 0.5):.2f} ms, longest {max(sync):.1f} ms."
    )


class Scanner:
    """Somebody who scans all the time; each scan's wait is kept."""

    def __init__(self, sender: Sender) -> None:
        self.waits: list[float] = []  # ms
        self._sender = sender
        self._seqs = count(intake.UNITS + 1)
        self._numbers = count()

    def scan(self) -> float:
        """Put the next thing into the other bin; return the ms until it was answered."""
        number = next(self._numbers)
        text = intake.label(number // 2 % intake.UNITS)
        target = "BIN-A" if number % 2 else "BIN-B"
        took = self._sender.send(next(self._seqs), step="put", text=text, target=target)
        self.waits.append(took)
        return took

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Scan for as long as this lasts."""
        over = threading.Event()
        thread = threading.Thread(target=self._scan, args=(over,))
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()
        assert self.waits, "somebody scanned"

    def _scan(self, over: threading.Event) -> None:
        while not over.is_set():
            time.sleep(max(0.0, PACE - self.scan() / 1000))


def _brought(kind: str, file: Path, meanwhile: Callable[[], object]) -> tuple[float, float]:
    """Return the seconds that the command takes from its start to its end, and those of a core."""
    command = [sys.executable, "manage.py", "bring_in", kind, str(file), "--write"]
    began, before = time.perf_counter(), _worked()
    running = subprocess.Popen(command, cwd=TOP, stdout=subprocess.DEVNULL)
    while running.poll() is None:
        meanwhile()
        time.sleep(0.1)
    assert running.returncode == 0, f"{file.name} was not brought in"
    return time.perf_counter() - began, _worked() - before


def _worked() -> float:
    """Seconds of a core that commands which have ended have used."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _shelves() -> None:
    Person.objects.create_user("head", None, roles=[Role.MANAGER])
    depot = Place.objects.get(code="BENCH")
    Place.objects.bulk_create(
        Place(kind="bin", code=f"SHELF-{n}", name=f"Shelf {n}", parent=depot) for n in range(BINS)
    )
    Item.objects.bulk_create(
        Item(code=f"{kind.upper()}-{n}", name=f"{kind} {n}", tracking=kind)
        for kind in ("serial", "count")
        for n in range(KINDS)
    )


def _recall(folder: Path) -> None:
    """One is frozen: each thing that comes in is judged by it."""
    rule = folder / "rule.txt"
    rule.write_text("model SERIAL-7; prefix A26-0000\n", encoding="utf-8")
    told = ("--letter", "B-1", "--wrong", "cells may overheat", "--freeze", "--by", "head")
    call_command("notice", str(rule), *told, stdout=StringIO())


def _serials(letter: str) -> Rows:
    for n in range(ROWS):
        yield f"SHELF-{n // KINDS}", f"SERIAL-{n % KINDS}", f"{letter}26-{n:06d}", "2026-03-31"


def _quantities(each: int) -> Rows:
    for n in range(ROWS):
        yield f"SHELF-{n // KINDS}", f"COUNT-{n % KINDS}", str(each)


def _items() -> Rows:
    for n in range(FEW):
        yield f"NEW-{n}", f"New {n}", "count", "1.50"


def _csv(file: Path, kind: str, rows: Rows) -> Path:
    lines = [HEADS[kind], *(";".join(row) for row in rows), ""]
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


def _xlsx(file: Path, kind: str, rows: Rows) -> Path:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    sheet.append(HEADS[kind].split(";"))
    for row in rows:
        sheet.append(row)
    book.save(file)
    return file


if __name__ == "__main__":
    main(Path(sys.argv[1]))
