"""The served intake is killed without warning, again and again: nothing it said yes to is lost.

A client posts as a phone does (`served.py`). After each kill the server starts again and the client
sends what was not answered. Killing a program is no power cut: the system keeps what was written
but not yet on the disk (`test_cut_short.py` is about those).
"""

from __future__ import annotations

import os
import random
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.counts import counts
from tests.laws.processes import PATIENCE, audit, own_database, run
from tests.laws.served import Client, Server

KILLS = counts(2, 40)
FEWEST, MOST = counts(4, 20), counts(8, 40)  # events answered between two kills, then a moment
MOMENT = 0.2  # seconds, at most
ACKNOWLEDGED = counts(0, 1000)  # events that must have been answered, at least
BETWEEN = counts(0, 5)  # kills that must have met a batch between its commit and its answer


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
            until = client.answered + chance.randint(FEWEST, MOST)
            while client.answered < until and thread.is_alive():
                time.sleep(0.005)
            time.sleep(chance.uniform(0, MOMENT))
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
