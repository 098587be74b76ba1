"""Scans over HTTP: gunicorn as `make serve` runs it, eight scanners, one scan a request.

Two mixes: things put from bin to bin, and the picks of a released kit, boxes and counted items.
"""

import http.client
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from string import ascii_uppercase
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.middleware.csrf import _get_new_csrf_string

from inventory.models import Device, Person, Tracking
from kitting.progress import fold
from tests.bench.intake import UNITS, label, line
from tests.bench.probe import part, sync_ms
from tests.kitting import yard as yards
from tests.kitting.yard import Yard
from tests.tree import TOP as ROOT

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
    with _server() as port:
        for name, (at_a_pace, at_once) in mixes:
            sync: list[float] = []
            paced = _scan_all(person, port, at_a_pace, PACE, sync, folder)
            flat_out = _scan_all(person, port, at_once, 0, sync, folder)
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
    person: Person, port: int, all_scans: list[Scans], pace: float, sync: list[float], folder: Path
) -> list[float]:
    took: list[float] = []
    cookie = _session(person)
    threads = [
        threading.Thread(
            target=_scanner,
            args=(port, cookie, Device.objects.create(person=person), scans, pace, took),
        )
        for scans in all_scans
    ]
    for thread in threads:
        thread.start()
        time.sleep(pace / SCANNERS)  # people do not scan in step
    while any(thread.is_alive() for thread in threads):
        sync += sync_ms(folder, 1)
        time.sleep(0.05)
    assert len(took) == SCANNERS * (SCANS - WARM), f"{len(took)} scans answered"
    return took


def _scanner(
    port: int, cookie: str, device: Device, scans: Scans, pace: float, took: list[float]
) -> None:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    token = _get_new_csrf_string()
    headers = {
        "Cookie": f"{settings.SESSION_COOKIE_NAME}={cookie}; {settings.CSRF_COOKIE_NAME}={token}",
        "X-CSRFToken": token,
        "Content-Type": "application/x-ndjson",
    }
    for seq, scan in enumerate(scans, 1):
        body = line(device, seq, **scan)
        began = time.perf_counter()
        link.request("POST", "/api/events", body, headers)
        answer = link.getresponse()
        text = answer.read()
        if seq > WARM:
            took.append((time.perf_counter() - began) * 1000)
        assert answer.status == 200, text[:300]
        assert b'"applied"' in text or b'"noted"' in text, text[:300]
        time.sleep(max(0.0, pace - (time.perf_counter() - began)))


def _session(person: Person) -> str:
    store = SessionStore()
    store[SESSION_KEY] = str(person.pk)
    store[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    store[HASH_SESSION_KEY] = person.get_session_auth_hash()
    store.create()
    return str(store.session_key)


@contextmanager
def _server() -> Iterator[int]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "gunicorn", "kitting.wsgi", "--bind", f"127.0.0.1:{port}"]
    command += ["--worker-class", "gthread", "--workers", "2", "--threads", "4"]
    command += ["--no-control-socket", "--log-level", "warning"]
    running = subprocess.Popen(command, cwd=ROOT, env=os.environ)
    try:
        for _ in range(200):
            with socket.socket() as trial:
                if trial.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield port
    finally:
        running.terminate()
        running.wait(timeout=20)
