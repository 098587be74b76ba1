"""Power goes, the database dies: what is left is what was answered so far, whole scans of it.

SQLite: copies of its log are cut at many bytes, which is what a power cut leaves (a program that is
killed is none: the system keeps what was written). PostgreSQL: its server and its sessions are
killed under three phones that scan on.
"""

from __future__ import annotations

import random
import threading
import time
from pathlib import Path

import pytest
import requests

from tests import postgres
from tests.counts import counts
from tests.laws.processes import PATIENCE, audit, own_database, run
from tests.laws.served import Client, Server

SCANS, CUTS = counts(16, 120), counts(6, 150)
DEATHS = counts(2, 20)  # of PostgreSQL
ACKNOWLEDGED = counts(0, 1000)
PHONES = 3


@pytest.mark.slow
@pytest.mark.sqlite_only
def test_a_log_cut_anywhere_leaves_whole_scans(tmp_path: Path) -> None:
    """The record is what was answered when the log was so long, to the letter; nothing is half.

    Whoever noted a later mark can tell that scans are gone; a phone that sends again all it keeps
    brings back the state that was.
    """
    arguments = (str(SCANS), str(CUTS), str(tmp_path))
    told = run(f"sqlite:///{tmp_path}/stock", *arguments, module="tests.laws.cutting")
    noted, lengths = told["noted"], set()
    for cut in told["cuts"]:
        whole = [note for note in noted if note["log"] <= cut["at"]][-1]
        assert cut["events"] == whole["events"], cut
        assert cut["digest"] == whole["digest"], cut
        assert (cut["prefix"], cut["sound"]) == (True, "ok"), cut
        assert bool(cut["last"]) is (whole != noted[-1]), cut
        assert cut.get("audit", []) == []
        assert cut.get("sent again", noted[-1]["digest"]) == noted[-1]["digest"]
        lengths.add(cut["events"])

    kinds = {kind: sum(cut["kind"] == kind for cut in told["cuts"]) for kind in ("cut", "bit")}
    again = sum("sent again" in cut for cut in told["cuts"])
    print(
        f"\n{kinds} of a log of {noted[-1]['log']:,} bytes, {len(lengths)} lengths of the record,"
    )
    print(f"{again} times all sent again")
    assert noted[-1]["events"] == SCANS
    assert len(lengths) > SCANS // 2
    assert again >= 2


def scan_on(client: Client, stop: threading.Event) -> None:
    """Scan and send; where nobody answers, try again."""
    while not stop.is_set():
        client.scan()
        try:
            client.send_all()
        except requests.RequestException:
            time.sleep(0.05)


@pytest.mark.slow
@pytest.mark.postgres_only
def test_what_postgresql_answered_outlives_its_death(tmp_path: Path) -> None:
    """Sessions and the server itself are killed under three phones; nothing is lost or doubled.

    The site is not started again: it finds its database back by itself.
    """
    chance = random.Random(11)
    with postgres.running(haste=False) as cluster, own_database(cluster.url) as url:
        prepared = run(url, "prepare")
        server = Server(url)
        server.start()
        clients = [
            Client(server.address, prepared["session"], prepared["device"], tmp_path / f"{n}.txt")
            for n in range(PHONES)
        ]
        stop = threading.Event()
        threads = [threading.Thread(target=scan_on, args=(one, stop)) for one in clients]
        try:
            for client in clients[1:]:
                client.device = client.register()
            for thread in threads:
                thread.start()
            for number in range(DEATHS):
                time.sleep(chance.uniform(0.5, 2))
                if number % 2:
                    cluster.kill()
                else:
                    cluster.kill_session(url.rpartition("/")[2])
        finally:
            stop.set()
            for thread in threads:
                thread.join(PATIENCE)
            try_again(clients)
            server.kill()
        answered = [uid for client in clients for uid in client.noted.read_text().split()]

        known = sum(client.known for client in clients)
        print(
            f"\n{DEATHS} deaths, {len(answered)} answered, {known} stored before an answer was lost"
        )
        assert len(answered) == len(set(answered)) == sum(one.seq for one in clients)
        assert len(answered) > ACKNOWLEDGED
        assert run(url, "stored") == {uid: [1, 1] for uid in answered}
        audit(url)


def try_again(clients: list[Client]) -> None:
    """Send what still waits; the database may just be coming back."""
    until = time.monotonic() + PATIENCE
    for client in clients:
        while client.waiting and time.monotonic() < until:
            try:
                client.send_all()
            except requests.RequestException:
                time.sleep(0.1)
