"""The intake against the bare driver running the same statements, taken in turns."""

import json
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from django.core.management import call_command

from inventory import intake
from inventory.ledger.ids import uuid7
from inventory.models import Device, Item, Person, Place
from tests.bench.probe import part, sync_ms
from tests.bench.twins import noted, replay, twins

UNITS, ROUNDS, BATCH = 200, 20, 20


def figures(folder: Path) -> list[str]:
    """Move units between two bins: our writer, the bare driver and a sync probe, in turns."""
    person, device = fill()
    return [compared(folder, person, [moves(device, index) for index in range(ROUNDS)])]


def compared(folder: Path, person: Person, rounds: Sequence[list[bytes]]) -> str:
    """Take the rounds on one copy of the database and replay their statements on the other."""
    ways = twins()
    ways.copy()
    written = [noted(partial(_take, person, lines)) for lines in rounds]
    ways.restore()
    bare = ways.bare()
    ours, plain, sync = [], [], []
    for lines, statements in zip(rounds, written, strict=True):
        ours.append(_timed(partial(_take, person, lines)))
        plain.append(_timed(partial(replay, bare, statements)))
        sync += sync_ms(folder)
    bare.close()
    ways.remove()
    scans = sum(map(len, rounds))
    per_scan = sum(map(len, written)) / scans
    rate = scans / sum(ours)
    return (
        f"- Scan intake ({ways.told}): {rate:.0f} scans/s in batches "
        f"of {BATCH}, {per_scan:.1f} statements a scan, {sum(plain) / sum(ours):.2f} of the "
        f"bare driver running the same statements; sync probe median {part(sync, 0.5):.2f} ms."
    )


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


def _take(person: Person, lines: list[bytes]) -> None:
    results = intake.take(person, lines, _now())
    assert [r.verdict for r in results] == ["applied"] * len(lines), results


def _timed(act: Callable[[], Any]) -> float:
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def _now() -> datetime:
    return datetime.now(UTC)
