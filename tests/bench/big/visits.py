"""Pages over HTTP on a loaded database: serials, batches and the stock, each twice.

Before the first visits the database's files are read once, as the nightly backup reads them. What
the disk adds is told beside it: visits to other pages after those files were put out of memory.
"""

import http.client
import os
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from django.db import connection

from inventory.models import Person
from tests.bench.big import history
from tests.bench.big.history import Firm
from tests.bench.probe import part, sync_ms
from tests.bench.serving import Server, cookie, server

SERIALS, LOTS, SEED = 200, 20, 20261126
WARM = 100
"""Visits to other pages first: a worker loads its code on its first, and each of its connections
keeps a statement after a few uses."""


@dataclass(frozen=True, slots=True)
class Page:
    """An address, and what stands on it if it is right."""

    path: str
    told: tuple[str, ...]


def figures(folder: Path, firm: Firm) -> list[str]:
    """Return what each kind of page takes at the first visit and at the second."""
    pick = random.Random(SEED)
    serials = [trace_of(firm, unit) for unit in pick.sample(range(1, firm.units + 1), SERIALS)]
    lots = [batch(firm, lot) for lot in pick.sample(range(1, firm.lots + 1), LOTS)]
    stock = [Page("/stock/", (f"MODULE-{history.ITEMS}",))] * 10
    items = [item_page(firm, n) for n in range(1, 11)]
    others = [trace_of(firm, unit) for unit in pick.sample(range(1, firm.units + 1), WARM)]
    cold = [trace_of(firm, unit) for unit in pick.sample(range(1, firm.units + 1), SERIALS)]
    cold_lots = [batch(firm, lot) for lot in pick.sample(range(1, firm.lots + 1), LOTS)]
    kinds = (
        ("trace of a serial", serials, cold, 10),
        (f"trace of a batch of {history.LOT}", lots, cold_lots, 200),
        ("stock page", stock, stock, 100),
        ("page of one item", items, items, 100),
    )
    signed = cookie(Person.objects.get(username="bench"))
    lines = []
    with server() as served:
        _read_all()
        _timed(served, signed, others)
        for name, pages, unread, goal in kinds:
            sync = sync_ms(folder)
            told = [
                f"{visit} {_timed(served, signed, pages)}" for visit in ("first visit", "second")
            ]
            _forget()
            told.append(f"others from disk {_timed(served, signed, unread)}")
            _read_all()
            sync += sync_ms(folder)
            lines.append(
                f"- {len(pages)} x {name} over HTTP: {'; '.join(told)} "
                f"(goal {goal} ms from memory); "
                f"sync probe beside it median {part(sync, 0.5):.2f} ms."
            )
    return lines


def _timed(served: Server, signed: str, pages: Sequence[Page]) -> str:
    before = served.worked()
    # A link of its own: the server closes one that was still for two seconds.
    took = _visit(served.link(), signed, pages)
    worked = (served.worked() - before) * 1000 / len(pages)
    return (
        f"median {part(took, 0.5):.1f} ms, p95 {part(took, 0.95):.1f} ms, {worked:.1f} ms of a core"
    )


def _visit(link: http.client.HTTPConnection, signed: str, pages: Sequence[Page]) -> list[float]:
    """Return the milliseconds from asking for each page to having all of it."""
    took = []
    for page in pages:
        began = time.perf_counter()
        link.request("GET", page.path, headers={"Cookie": signed})
        answer = link.getresponse()
        text = answer.read().decode()
        took.append((time.perf_counter() - began) * 1000)
        assert answer.status == 200, (page.path, answer.status, text[:300])
        missing = [told for told in page.told if told not in text]
        assert not missing, (page.path, missing)
    return took


def _files() -> list[Path]:
    """The files of the database that this process is set to; both kinds are on this machine."""
    if connection.vendor == "sqlite":
        return [Path(str(connection.settings_dict["NAME"]))]
    with connection.cursor() as cursor:
        cursor.execute("SHOW data_directory")
        return [path for path in Path(cursor.fetchone()[0], "base").rglob("*") if path.is_file()]


def _read_all() -> None:
    for path in _files():
        with path.open("rb") as file:
            while file.read(1 << 24):
                pass


def _forget() -> None:
    """Put the files out of the machine's memory; a PostgreSQL keeps what its own buffers hold."""
    for path in _files():
        with path.open("rb") as file:
            os.fsync(file.fileno())
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def trace_of(firm: Firm, unit: int) -> Page:
    """The chain of a serial: begins at the dock, ends where the unit stands."""
    places = [firm.place(unit, step) for step in (0, history.STEPS - 1)]
    told = [f"{history.serial(unit)} is now at {history.code(place)}." for place in places]
    return Page(f"/trace/?code={quote(history.label(firm, unit))}", tuple(told))


def batch(firm: Firm, lot: int) -> Page:
    """A batch with where its single things are now: its first and its last are told."""
    first = (lot - 1) * history.LOT + 1
    told = (history.serial(first), history.serial(first + history.LOT - 1))
    return Page(f"/trace/?code=L{lot:05d}", told)


def item_page(firm: Firm, item: int) -> Page:
    """An item: its name, and the newest of its serials."""
    newest = max(lot for lot in range(1, firm.lots + 1) if history.item_of(lot) == item)
    return Page(f"/stock/MODULE-{item}/", (history.serial(newest * history.LOT),))
