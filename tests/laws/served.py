"""The served intake and a client of it, for the tests that kill what stands behind an answer.

The client posts through the real endpoint and writes each answered id to disk at once, as a phone
does; what was not answered it sends again.
"""

from __future__ import annotations

import os
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import requests

from inventory.ledger.ids import uuid7
from tests.laws.processes import PATIENCE, environment
from tests.tree import TOP

BATCH = 4  # lines the client posts at once


class Server:
    """gunicorn with two workers, as `make serve` starts it but slow to answer, in its own group."""

    def __init__(self, url: str) -> None:
        self.environment = environment(url) | {"LASTBOLT_LOG": "ERROR"}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.address = f"127.0.0.1:{free.getsockname()[1]}"

    def start(self) -> None:
        options = ["--worker-class=gthread", "--workers=2", "--threads=4", "--no-control-socket"]
        command = [
            sys.executable,
            "-m",
            "gunicorn",
            "tests.laws.slow_answer",
            f"--bind={self.address}",
        ]
        self.process = subprocess.Popen(
            [*command, *options],
            cwd=TOP,
            env=self.environment,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            try:
                requests.get(f"http://{self.address}/sign-in", timeout=PATIENCE)
                return
            except requests.ConnectionError:
                assert self.process.poll() is None, "the server did not start"
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        """Master and workers at once; none of them gets to finish anything."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


class Client:
    """A phone: numbers its events, keeps what is not answered, notes on disk what is."""

    def __init__(self, address: str, session: str, device: str, noted: Path) -> None:
        self.url, self.device, self.noted = f"http://{address}/api/events", device, noted
        token = secrets.token_hex(16)
        self.session = requests.Session()
        self.session.cookies.update({"sessionid": session, "csrftoken": token})
        self.session.headers.update({"Content-Type": "application/x-ndjson", "X-CSRFToken": token})
        self.seq = 0
        self.waiting: dict[str, str] = {}  # id -> line
        self.answered = 0
        self.known = 0  # events that the server had when they came again

    def register(self) -> str:
        """Another device of the same person."""
        headers = {"Content-Type": "application/json"}
        address = self.url.replace("/events", "/devices")
        answer = self.session.post(address, data="{}", headers=headers, timeout=PATIENCE)
        return str(answer.json()["device"])

    def scan(self) -> None:
        """One more delivery of brackets."""
        self.seq += 1
        uid = str(uuid7())
        self.waiting[uid] = (
            f'{{"v":1,"id":"{uid}","device":"{self.device}","seq":{self.seq},'
            '"at":"2026-11-25T06:10:00Z","step":"receive","text":"09521234000020","target":"DOCK"}'
        )

    def post(self, batch: list[str]) -> None:
        """Send lines; those answered are noted on disk before they are forgotten."""
        body = "\n".join(self.waiting[uid] for uid in batch)
        answer = self.session.post(self.url, data=body, timeout=PATIENCE)
        answer.raise_for_status()
        with self.noted.open("a") as notes:
            for result in answer.json()["results"]:
                assert result["verdict"] == "applied", result
                self.answered += 1
                self.known += result["duplicate"]
                notes.write(f"{result['id']}\n")
                del self.waiting[result["id"]]
            notes.flush()
            os.fsync(notes.fileno())

    def send_all(self) -> None:
        """Send what is still waiting, oldest first."""
        while self.waiting:
            self.post(list(self.waiting)[:BATCH])

    def go_on(self, stop: threading.Event) -> None:
        """Scan and send until the server is gone."""
        while not stop.is_set():
            for _ in range(BATCH - len(self.waiting) % BATCH):
                self.scan()
            try:
                self.send_all()
            except (requests.ConnectionError, requests.HTTPError):
                return
