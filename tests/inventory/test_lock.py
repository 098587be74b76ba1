"""One writer at a time, whoever it is: threads, processes, both databases."""

import os
import threading
from pathlib import Path
from typing import Any

import pytest
from django.db import OperationalError, connection, connections

from inventory import intake
from inventory.lock import writing
from inventory.models import Event, Holding, Movement
from tests import firm
from tests.laws.processes import audit, own_database, run

THREADS, EVENTS = 6, 12


@pytest.mark.django_db(transaction=True)
def test_the_same_events_at_once_count_once() -> None:
    """Six threads send the same twelve events, each in its own order: twelve effects.

    One of the six answers to an event is the first, five say that it came before.
    """
    shop = firm.build()
    lines = [shop.wanda.line("receive", "09521234000020", target="DOCK") for _ in range(EVENTS)]
    answers: list[intake.Result] = []
    begin = threading.Barrier(THREADS)

    def send(turn: int) -> None:
        try:
            begin.wait(30)
            answers.extend(shop.wanda.send(*lines[turn:], *lines[:turn]))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=send, args=(2 * n,)) for n in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert len(answers) == THREADS * EVENTS
    assert {answer.verdict for answer in answers} == {"applied"}
    assert sum(not answer.duplicate for answer in answers) == EVENTS
    assert Event.objects.count() == Movement.objects.count() == EVENTS
    assert Holding.objects.get(place=shop.dock).quantity == 4 * EVENTS


@pytest.mark.postgres_only
@pytest.mark.slow
def test_processes_take_turns_on_postgresql() -> None:
    """Three processes claim the same twenty serials in a database made for this test."""
    with own_database(os.environ["DATABASE_URL"]) as url:
        told = run(url, "race", "3", "20")
        audit(url)

    assert told == {"moved": 20, "doubled": 0, "applied": 20, "claims": 60}


@pytest.mark.slow
def test_processes_take_turns_on_a_file(tmp_path: Path) -> None:
    """The same on one SQLite file."""
    url = f"sqlite:///{tmp_path}/stock.sqlite3"
    told = run(url, "race", "3", "20")
    audit(url)

    assert told == {"moved": 20, "doubled": 0, "applied": 20, "claims": 60}


@pytest.mark.django_db
def test_a_writer_inside_a_writer_only_joins_it() -> None:
    """An act that uses another part that locks does not wait for itself."""
    with writing(), writing():
        assert connection.in_atomic_block


@pytest.mark.django_db(transaction=True)
def test_no_answer_is_given_before_the_commit(monkeypatch: pytest.MonkeyPatch) -> None:
    """The commit fails: no result comes back, nothing is kept, and the phone sends it again."""
    wanda = firm.build().wanda
    line = wanda.line("receive", "09521234000020", target="DOCK")

    def disk_full() -> None:
        raise OperationalError("disk full")

    with monkeypatch.context() as patch:
        patch.setattr(connection, "_commit", disk_full)
        with pytest.raises(OperationalError):
            wanda.send(line)
    stored: Any = Event.objects.count()

    assert stored == 0
    assert wanda.send(line)[0].duplicate is False
