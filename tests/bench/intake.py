"""The intake against the bare driver running the same statements, taken in turns."""

import json
import re
import shutil
import sqlite3
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.db import connection

from inventory import intake
from inventory.ledger.ids import uuid7
from inventory.models import Device, Item, Person, Place
from tests.bench.probe import part, sync_ms

UNITS, ROUNDS, BATCH = 200, 20, 20


def figures(folder: Path) -> list[str]:
    """Move units between two bins: our writer, the bare driver and a sync probe, in turns."""
    person, device = fill()
    name = str(connection.settings_dict["NAME"])
    connection.close()
    kept = folder / "kept.sqlite3"
    shutil.copy(name, kept)
    rounds = [moves(device, index) for index in range(ROUNDS)]
    written = [_record(person, lines) for lines in rounds]
    connection.close()
    for suffix in ("", "-wal", "-shm"):
        Path(name + suffix).unlink(missing_ok=True)
    shutil.copy(kept, name)
    bare = sqlite3.connect(kept, isolation_level=None)
    bare.execute("PRAGMA journal_mode=WAL")
    bare.execute("PRAGMA synchronous=FULL")
    ours, plain, sync = [], [], []
    for lines, statements in zip(rounds, written, strict=True):
        ours.append(_timed(lambda lines=lines: intake.take(person, lines, _now())))
        plain.append(_timed(lambda statements=statements: _replay(bare, statements)))
        sync += sync_ms(folder)
    modes = [
        (
            one.execute("PRAGMA journal_mode").fetchone()[0],
            one.execute("PRAGMA synchronous").fetchone()[0],
        )
        for one in (bare, connection.cursor())
    ]
    assert modes == [("wal", 2), ("wal", 2)], modes  # 2 = FULL, read back on both
    per_scan = sum(len(statements) for statements in written) / (ROUNDS * BATCH)
    rate = ROUNDS * BATCH / sum(ours)
    return [
        (
            f"- Scan intake (SQLite, WAL and FULL read back): {rate:.0f} scans/s in batches "
            f"of {BATCH}, {per_scan:.1f} statements a scan, {sum(plain) / sum(ours):.2f} of the "
            f"bare driver running the same statements; sync probe median {part(sync, 0.5):.2f} ms."
        )
    ]


def fill() -> tuple[Person, Device]:
    """Make a depot with two bins and UNITS units, all entered through the intake."""
    call_command("migrate", verbosity=0)
    person = Person.objects.create_user("bench", None, roles=["warehouse"])
    device = Device.objects.create(person=person)
    depot = Place.objects.create(kind="depot", code="BENCH", name="Bench depot")
    for code in ("BIN-A", "BIN-B"):
        Place.objects.create(kind="bin", code=code, name=code, parent=depot)
    item = Item.objects.create(code="MODULE", name="Module", tracking="serial")
    item.codes.create(text="09521234543213", key="09521234543213")
    lines = [
        line(device, index + 1, step="receive", text=label(index), target="BIN-A", kind="seen")
        for index in range(UNITS)
    ]
    refused = [r for r in intake.take(person, lines, _now()) if r.verdict != "applied"]
    assert not refused, refused[0]
    return person, device


def label(index: int) -> str:
    """The element string on unit `index`: article number and serial (GS1 AIs 01 and 21)."""
    return f"]C1010952123454321321SN{index:06d}"


def moves(device: Device, index: int) -> list[bytes]:
    """Batch `index`: the next BATCH units go to the other bin."""
    start = index * BATCH
    to = "BIN-B" if (start // UNITS) % 2 == 0 else "BIN-A"
    return [
        line(device, UNITS + start + n + 1, step="put", text=label((start + n) % UNITS), target=to)
        for n in range(BATCH)
    ]


def line(device: Device, seq: int, **fields: Any) -> bytes:  # fields of a line
    """Return one event line as a client sends it."""
    body = {"v": 1, "id": str(uuid7()), "device": str(device.uid), "seq": seq, "via": "symbol"}
    return json.dumps({**body, "at": "2026-11-25T06:10:00Z", **fields}).encode()


def _record(person: Person, lines: list[bytes]) -> list[tuple[str, Any]]:
    written: list[tuple[str, Any]] = []

    def keep(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith("BEGIN") and written:
            written.append(("COMMIT", ()))  # Django commits without a statement of its own
        named = isinstance(params, dict)
        plain = re.sub(r"%\((\w+)\)s", r":\1", sql) if named else sql.replace("%s", "?")
        written.append((plain, params if named else tuple(params or ())))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(keep):
        results = intake.take(person, lines, _now())
    assert {r.verdict for r in results} == {"applied"}, results
    return [*written, ("COMMIT", ())]


def _replay(bare: sqlite3.Connection, statements: list[tuple[str, Any]]) -> None:
    for sql, params in statements:
        cursor = bare.execute(sql, params)
        if cursor.description:
            cursor.fetchall()


def _timed(act: Callable[[], Any]) -> float:
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def _now() -> datetime:
    return datetime.now(UTC)
