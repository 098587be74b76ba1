"""Put back from an old copy, the server is sent again what it answered since, in order."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection
from playwright.sync_api import Page

from inventory import audit
from inventory.models import DeviceGap, Event, Finding
from tests.browser.bench import Bench, all_sent, saved_or_better, scan


class Copy:
    """The database as it was at one moment."""

    def __init__(self, path: Path) -> None:
        self.kept = sqlite3.connect(path)
        connection.ensure_connection()
        connection.connection.backup(self.kept)

    def put_back(self) -> None:
        self.kept.backup(connection.connection)


@pytest.fixture
def picking(page: Page, at_bench: Bench) -> Iterator[Page]:
    """Wanda, signed in where she picks."""
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    yield page
    assert not DeviceGap.objects.exists()
    assert [done.problems for done in audit.run() if done.problems] == []


def picked(page: Page, *texts: str) -> None:
    """Each is answered before the next, and is another look than the one before."""
    for text in texts:
        scan(page, text)
        all_sent(page)
        saved_or_better(page, "applied")
        page.wait_for_timeout(150)


def test_what_was_answered_goes_before_what_is_new(
    picking: Page, at_bench: Bench, tmp_path: Path
) -> None:
    """The page stays open: the next scan finds the server behind, and waits for the older ones."""
    picked(picking, "CT-BRACKET")
    copy = Copy(tmp_path / "old")
    picked(picking, "CT-CLAMP-L", "CT-BRACKET")
    copy.put_back()
    assert at_bench.scans("pick") == ["CT-BRACKET"]

    picked(picking, "CT-CLAMP-L")

    assert at_bench.scans("pick") == ["CT-BRACKET", "CT-CLAMP-L"] * 2
    events = Event.objects.filter(step="pick").order_by("number")
    assert list(events.values_list("seq", flat=True)) == [1, 2, 3, 4]


def test_a_server_that_forgot_the_phone_itself_is_told_all(
    picking: Page, at_bench: Bench, tmp_path: Path
) -> None:
    """With nothing new to send: the next page that is opened asks what the server has."""
    copy = Copy(tmp_path / "old")
    picked(picking, "CT-BRACKET", "CT-CLAMP-L")
    copy.put_back()
    assert at_bench.scans("pick") == []

    with picking.expect_response("**/api/events*") as answered:
        picking.reload()
    all_sent(picking)

    assert [one["verdict"] for one in answered.value.json()["results"]] == ["applied"] * 2
    assert at_bench.scans("pick") == ["CT-BRACKET", "CT-CLAMP-L"]

    # Nothing is lacking any more: opened again, the page sends nothing.
    count = Event.objects.count()
    with picking.expect_response("**/api/devices") as told:
        picking.reload()
    all_sent(picking)

    assert (told.value.json()["high_water"], told.value.json()["missing"]) == (2, [])
    assert Event.objects.count() == count


MEMORY = """(kept) => new Promise((done) => {
  indexedDB.open("lastbolt-queue").onsuccess = ({ target: { result: database } }) => {
    const act = database.transaction(["events", "facts"], "readwrite");
    const [events, facts] = [act.objectStore("events"), act.objectStore("facts")];
    const found = {};
    if (kept) {
      events.clear();
      for (const row of kept.rows) events.put(row);
      facts.put(kept.seq, "seq");
      facts.put(kept.mark, "mark");
    }
    events.getAll().onsuccess = ({ target }) => { found.rows = target.result; };
    facts.get("seq").onsuccess = ({ target }) => { found.seq = target.result; };
    facts.get("mark").onsuccess = ({ target }) => { found.mark = target.result; };
    act.oncomplete = () => { database.close(); done(found); };
  };
})"""


def test_a_number_used_twice_hides_nothing(picking: Page, at_bench: Bench, tmp_path: Path) -> None:
    """The phone is put back, then the server, which has another event under the number."""
    picked(picking, "CT-BRACKET")
    early = picking.evaluate(MEMORY, None)
    picked(picking, "CT-CLAMP-L", "CT-BRACKET")
    copy = Copy(tmp_path / "old")
    picking.evaluate(MEMORY, early)
    picked(picking, "CT-CLAMP-L")
    assert Finding.objects.filter(words__contains="its number 2 twice").exists()
    copy.put_back()
    assert at_bench.scans("pick") == ["CT-BRACKET", "CT-CLAMP-L", "CT-BRACKET"]

    picked(picking, "CT-BRACKET")

    told = [*["CT-BRACKET", "CT-CLAMP-L"] * 2, "CT-BRACKET"]
    assert at_bench.scans("pick") == told
    events = Event.objects.filter(step="pick").order_by("number")
    assert list(events.values_list("seq", flat=True)) == [1, 2, 3, 2, 4]
