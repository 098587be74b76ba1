"""gunicorn as `make serve` runs it, on the database that this process is set to."""

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.middleware.csrf import _get_new_csrf_string

from inventory.models import Device, Person
from inventory.signing_in import SessionStore
from tests.bench.intake import line
from tests.tree import TOP

TICK = os.sysconf("SC_CLK_TCK")


class Server:
    """A running server."""

    def __init__(self, port: int, pid: int) -> None:
        self.port, self._pid = port, pid

    def link(self) -> http.client.HTTPConnection:
        """A connection of its own to it."""
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=300)

    def worked(self) -> float:
        """Seconds of a core that its workers have used so far."""
        children = Path(f"/proc/{self._pid}/task/{self._pid}/children").read_text().split()
        return sum(_used(int(child)) for child in children)


class Sender:
    """Somebody who has signed in on a device and sends one scan a request."""

    def __init__(self, served: Server, person: Person, device: Device) -> None:
        token = _get_new_csrf_string()
        self._link, self._device = served.link(), device
        self._headers = {
            "Cookie": f"{cookie(person)}; {settings.CSRF_COOKIE_NAME}={token}",
            "X-CSRFToken": token,
            "Content-Type": "application/x-ndjson",
        }

    def send(self, seq: int, **scan: Any) -> float:
        """Send an event with these fields; return how many ms its answer took."""
        body = line(self._device, seq, **scan)
        began = time.perf_counter()
        self._link.request("POST", "/api/events", body, self._headers)
        answer = self._link.getresponse()
        text = answer.read()
        took = (time.perf_counter() - began) * 1000
        assert answer.status == 200, text[:300]
        assert b'"applied"' in text or b'"noted"' in text, text[:300]
        return took


def _used(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICK


@contextmanager
def server() -> Iterator[Server]:
    """Serve with two workers of four threads; it is stopped at the end."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "gunicorn", "kitting.wsgi", "--bind", f"127.0.0.1:{port}"]
    command += ["--worker-class", "gthread", "--workers", "2", "--threads", "4"]
    command += ["--no-control-socket", "--log-level", "warning"]
    running = subprocess.Popen(command, cwd=TOP, env=os.environ)
    try:
        for _ in range(200):
            with socket.socket() as trial:
                if trial.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield Server(port, running.pid)
    finally:
        running.terminate()
        running.wait(timeout=20)


def cookie(person: Person) -> str:
    """The Cookie header of somebody who has signed in."""
    store = SessionStore()
    store[SESSION_KEY] = str(person.pk)
    store[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    store[HASH_SESSION_KEY] = person.get_session_auth_hash()
    store.create()
    return f"{settings.SESSION_COOKIE_NAME}={store.session_key}"
