"""The served intake is killed without warning, again and again: nothing it said yes to is lost.

A client posts through the real endpoint and writes each answered id to disk at once, as a phone
does. After each kill the server starts again and the client sends what was not answered. Killing a
program is no power cut: the system keeps what was written but not yet on the disk.
"""

from __future__ import annotations

import os
import random
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import requests

from inventory.ledger.ids import uuid7
from tests.counts import counts
from tests.laws.processes import PATIENCE, audit, environment, own_database, run
from tests.tree import TOP

KILLS = counts(2, 40)
ACKNOWLEDGED = counts(0, 1000)  # events that must have been answered, at least
BETWEEN = counts(0, 5)  # kills that must have met a batch between its commit and its answer
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


def kill_again_and_again(url: str, folder: Path) -> None:
    prepared = run(url, "prepare")
    server = Server(url)
    client = Client(
        server.address, prepared["session"], prepared["device"], folder / "answered.txt"
    )
    chance, left_waiting, between = random.Random(7), 0, 0
    server.start()
    try:
        for _ in range(KILLS):
            stop = threading.Event()
            thread = threading.Thread(target=client.go_on, args=(stop,))
            thread.start()
            time.sleep(chance.uniform(0.3, 1.2))
            server.kill()
            stop.set()
            thread.join(PATIENCE)
            left_waiting += len(client.waiting)
            between += not client.waiting.keys().isdisjoint(run(url, "stored"))
            server.start()
            client.send_all()
    finally:
        server.kill()
    answered = client.noted.read_text().split()

    print(f"\n{KILLS} kills, {len(answered)} answered, {between} between commit and answer")
    assert len(answered) == len(set(answered)) == client.seq > ACKNOWLEDGED
    assert between >= BETWEEN
    assert left_waiting > 0, "no kill met a batch under way: this run proves nothing"
    assert run(url, "stored") == {uid: [1, 1] for uid in answered}
    audit(url)


@pytest.fixture
def postgresql() -> Iterator[str]:
    with own_database(os.environ["DATABASE_URL"]) as url:
        yield url


@pytest.mark.slow
def test_a_killed_server_on_sqlite_loses_nothing(tmp_path: Path) -> None:
    """Every answered event is there exactly once, every other one after it was sent again."""
    kill_again_and_again(f"sqlite:///{tmp_path}/stock.sqlite3", tmp_path)


@pytest.mark.slow
@pytest.mark.postgres_only
def test_a_killed_server_on_postgresql_loses_nothing(postgresql: str, tmp_path: Path) -> None:
    """The same on PostgreSQL, whose sessions are cut in the middle of their transactions."""
    kill_again_and_again(postgresql, tmp_path)
