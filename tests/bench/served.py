"""A scan over HTTP: gunicorn as `make serve` runs it, eight scanners, one scan a request."""

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

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.middleware.csrf import _get_new_csrf_string

from inventory.models import Device, Person
from tests.bench.intake import label, line
from tests.bench.probe import part, sync_ms
from tests.tree import TOP as ROOT

SCANNERS, SCANS, GOAL_MS = 8, 40, 50
PACE = 0.5  # seconds from one scan of a person to the next: faster than hands, assumed


def figures(folder: Path) -> list[str]:
    """Return the p95 of a scan's answer, with the sync probe running beside it."""
    person = Person.objects.get(username="bench")
    cookie = _session(person)
    sync: list[float] = []
    with _server() as port:
        paced = _scan_all(person, port, cookie, PACE, sync, folder)
        flat_out = _scan_all(person, port, cookie, 0, sync, folder)
    return [
        (
            f"- A scan over HTTP to gunicorn, {SCANNERS} scanners, each a scan every {PACE} s, "
            f"{len(paced)} scans: p50 {part(paced, 0.5):.0f} ms, p95 {part(paced, 0.95):.0f} ms "
            f"(goal {GOAL_MS} ms). The same flat out, each scan sent when the last is answered: "
            f"p50 {part(flat_out, 0.5):.0f} ms, p95 {part(flat_out, 0.95):.0f} ms. "
            f"Sync probe beside it: median {part(sync, 0.5):.2f} ms, p95 {part(sync, 0.95):.2f} ms."
        )
    ]


def _scan_all(
    person: Person, port: int, cookie: str, pace: float, sync: list[float], folder: Path
) -> list[float]:
    took: list[float] = []
    devices = [Device.objects.create(person=person) for _ in range(SCANNERS)]
    threads = [
        threading.Thread(target=_scanner, args=(port, cookie, device, index, pace, took))
        for index, device in enumerate(devices)
    ]
    for thread in threads:
        thread.start()
    while any(thread.is_alive() for thread in threads):
        sync += sync_ms(folder, 1)
        time.sleep(0.05)
    assert len(took) == SCANNERS * SCANS, f"{len(took)} scans answered"
    return took


def _scanner(
    port: int, cookie: str, device: Device, index: int, pace: float, took: list[float]
) -> None:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    token = _get_new_csrf_string()
    headers = {
        "Cookie": f"{settings.SESSION_COOKIE_NAME}={cookie}; {settings.CSRF_COOKIE_NAME}={token}",
        "X-CSRFToken": token,
        "Content-Type": "application/x-ndjson",
    }
    time.sleep(pace * index / SCANNERS)  # people do not scan in step
    for number in range(SCANS):
        to = "BIN-A" if number % 2 else "BIN-B"
        unit = index * (200 // SCANNERS) + number // 2
        body = line(device, number + 1, step="put", text=label(unit % 200), target=to)
        began = time.perf_counter()
        link.request("POST", "/api/events", body, headers)
        answer = link.getresponse()
        text = answer.read()
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
