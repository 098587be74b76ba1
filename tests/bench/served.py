"""Scans over HTTP: gunicorn as `make serve` runs it, eight scanners, one scan a request.

Two mixes: things put from bin to bin, and the picks of a released kit, boxes and counted items.
"""

import threading
import time
from pathlib import Path
from string import ascii_uppercase
from typing import Any

from inventory.models import Device, Person, Tracking
from kitting.progress import fold
from tests.bench.intake import UNITS, label
from tests.bench.probe import part, sync_ms
from tests.bench.serving import Sender, Server, server
from tests.kitting import yard as yards
from tests.kitting.yard import Yard

SCANNERS, SCANS, GOAL_MS = 8, 40, 50
WARM = 6  # first scans of each scanner that are not counted: a worker loads its code on the first
Scans = list[dict[str, Any]]  # fields of the events that one scanner sends, in order
PACE = 0.5  # seconds from one scan of a person to the next: faster than hands, assumed


def figures(folder: Path) -> list[str]:
    """Return p50 and p95 of a scan's answer for both mixes, with the sync probe beside them."""
    person = Person.objects.get(username="bench")
    yard = yards.build()
    mixes: list[tuple[str, list[list[Scans]]]] = [
        ("put", [[_puts(index) for index in range(SCANNERS)] for _ in range(2)]),
        ("pick for a kit", [[_picks(yard) for _ in range(SCANNERS)] for _ in range(2)]),
    ]
    lines = []
    with server() as served:
        for name, (at_a_pace, at_once) in mixes:
            sync: list[float] = []
            paced = _scan_all(person, served, at_a_pace, PACE, sync, folder)
            flat_out = _scan_all(person, served, at_once, 0, sync, folder)
            lines.append(
                f"- A {name} over HTTP to gunicorn, {SCANNERS} scanners, {len(paced)} scans: "
                f"one every {PACE} s each {_parts(paced)} (goal p95 {GOAL_MS} ms), "
                f"flat out {_parts(flat_out)}, sync probe beside it {_parts(sync)}."
            )
    return lines


def _parts(took: list[float]) -> str:
    return f"p50 {part(took, 0.5):.0f} ms, p95 {part(took, 0.95):.0f} ms"


def _puts(index: int) -> Scans:
    """Scanner `index` moves its own share of the units to the other bin and back."""
    first = index * (UNITS // SCANNERS)
    return [
        {
            "step": "put",
            "text": label((first + number // 2) % UNITS),
            "target": "BIN-A" if number % 2 else "BIN-B",
        }
        for number in range(SCANS)
    ]


def _picks(yard: Yard) -> Scans:
    """A fresh kit with its things on the shelves: each box once, each counted item in one scan."""
    kit = yard.kit()
    scans: Scans = []
    for total in fold(kit).totals.values():
        code = total.item.code
        if total.item.tracking == Tracking.SERIAL:
            # Letters only: digits in a typed label could hide the start of another field.
            serials = [
                f"{code[3:]}{ascii_uppercase[kit.pk]}{ascii_uppercase[n]}"
                for n in range(total.to_pick)
            ]
            scans += [{"text": f"BOX-{yard.box(serial, code).serial}"} for serial in serials]
        elif total.to_pick:
            yard.shelve(code, total.to_pick)
            scans.append({"text": code, "quantity": total.to_pick})
    assert len(scans) >= SCANS, f"{kit.code} has only {len(scans)} picks"
    return [{"step": "pick", "subject": kit.subject, **scan} for scan in scans[:SCANS]]


def _scan_all(
    person: Person,
    served: Server,
    all_scans: list[Scans],
    pace: float,
    sync: list[float],
    folder: Path,
) -> list[float]:
    took: list[float] = []
    threads = []
    for scans in all_scans:
        sender = Sender(served, person, Device.objects.create(person=person))
        threads.append(threading.Thread(target=_scanner, args=(sender, scans, pace, took)))
    for thread in threads:
        thread.start()
        time.sleep(pace / SCANNERS)  # people do not scan in step
    while any(thread.is_alive() for thread in threads):
        sync += sync_ms(folder, 1)
        time.sleep(0.05)
    assert len(took) == SCANNERS * (SCANS - WARM), f"{len(took)} scans answered"
    return took


def _scanner(sender: Sender, scans: Scans, pace: float, took: list[float]) -> None:
    for seq, scan in enumerate(scans, 1):
        began = time.perf_counter()
        answered = sender.send(seq, **scan)
        if seq > WARM:
            took.append(answered)
        time.sleep(max(0.0, pace - (time.perf_counter() - began)))
