"""A whole day without signal: nothing is lost, nothing doubled, and what clashes is shown."""

from __future__ import annotations

import io
import itertools
import json
import os
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from unittest import mock

import pytest
from django.core.management import call_command
from django.db import connection
from playwright.sync_api import Browser, expect

from inventory.models import Event, Finding, Photo, SentPhoto
from tests import firm
from tests.browser.bench import PASSWORD, Bench
from tests.browser.offline_day import FORGOTTEN, MODULES, PHOTOS, Day, arrived, lines_after
from tests.browser.relay import Relay
from tests.kitting import yard
from tests.kitting.yard import about

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(reset_sequences=True)]


@pytest.fixture
def firm_s_clock() -> Iterator[None]:
    """The server works on the firm's day, whatever day it is; the phones' clocks are the test's."""
    ahead = datetime.now(UTC) - firm.NOW

    def clock() -> datetime:
        return datetime.now(UTC) - ahead

    with mock.patch("django.utils.timezone.now", clock):
        yield


@pytest.fixture
def day(
    chromium: Browser,
    live_server,
    firm_s_clock: None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Day]:
    """One job of two technicians, its modules on the van; the firm's own ids follow a count."""
    ids = (uuid.UUID(int=(7 << 76) | (2 << 62) | number) for number in itertools.count(1))
    monkeypatch.setattr(firm, "uuid7", lambda: next(ids))
    made = yard.build.__wrapped__()  # entered anew: its numbers begin at one
    for person in (made.tariq.person, made.tove.person, made.mona.person):
        person.set_password(PASSWORD)
        person.save()
    job = made.job(stacks=[{"modules": MODULES}])
    job.crew.add(made.tove.person)
    kit = made.kit(job)
    for number in range(1, MODULES + 1):
        made.box(f"S{number}")
        for step in ("pick", "load"):
            made.wanda.scan(step, f"BOX-S{number}", **about(kit))
    lines = (Relay(live_server.thread.port), Relay(live_server.thread.port))
    yield Day(chromium, Bench(live_server.url, made, kit), lines, tmp_path)
    for line in lines:
        line.close()


def report(**figures: object) -> None:
    """Write what came of the day to $REPORTS, if it is set."""
    if folder := os.environ.get("REPORTS"):
        path = Path(folder) / f"offline-{connection.vendor}.json"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(figures, indent=2) + "\n", encoding="utf-8")


def state() -> str:
    """What `audit --digest` prints, after the audit itself found nothing."""
    call_command("audit", stdout=io.StringIO())
    said = io.StringIO()
    call_command("audit", "--digest", stdout=said)
    return said.getvalue().strip()


@pytest.mark.slow
def test_a_day_without_signal_loses_and_doubles_nothing(day: Day) -> None:
    """Two deaths, a bad line, an old copy of a phone, clocks a day behind, a mate's phone."""
    begun = Event.objects.count()
    before = Event.objects.order_by("-number").first().number
    day.run()
    true, there = day.entered(), arrived(lines_after(before))
    missing, doubled = true - there, there - true
    cut, dropped = (sum(getattr(one, way) for one in day.lines) for way in ("cut", "dropped"))
    named = {line["photo"] for line in lines_after(before) if "photo" in line}
    photos = SentPhoto.objects.filter(sha256__in=named).count()
    clashes = Finding.objects.filter(kind=Finding.Kind.CLASH).count()
    report(
        database=connection.vendor,
        scans=true.total(),
        photos=photos,
        kills=day.kills,
        answers_cut=cut,
        requests_dropped=dropped,
        restored_phone=day.put_back,
        clashes=clashes,
        missing=missing.total(),
        doubled=doubled.total(),
        queue_left=day.left,
        state=state(),
    )

    assert (missing, doubled) == (type(missing)(), type(missing)())
    assert true.total() == len(true)
    assert Event.objects.count() - begun == len(true)
    assert photos == len(named) == Photo.objects.count() == PHOTOS
    assert (day.kills, day.left, day.put_back) == (2, 0, True)
    assert cut >= 1
    assert dropped >= 1
    assert clashes >= 1
    desk = day.chromium.new_context().new_page()
    day.bench.sign_in(desk, "mona")
    desk.goto(f"{day.bench.url}/problems/")
    expect(desk.locator("main")).to_contain_text("S1 stands at place 2 of stack 1")
    desk.context.close()
    # The control: the same count of a phone that forgets before it is answered finds losses.
    assert day.forgets() == FORGOTTEN
