"""A scan on a technician's phone without signal: from its last key to the outcome on the page.

Measured in the page (performance.measure), in chromium, over what the other benches left; gunicorn
and collected static files as `make serve` has them.
"""

from __future__ import annotations

import os
from pathlib import Path

from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import expect, sync_playwright

from inventory.models import Person
from kitting import phone_codes
from tests.bench.probe import part
from tests.bench.serving import cookie, server
from tests.browser.bench import scan
from tests.browser.chromium import FLAGS, executable

SCANS, GOAL_MS = 100, 100


def figures(folder: Path) -> list[str]:
    """Return p50 and p95 of the outcome, and what the phone's tables hold and weigh."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # Playwright's loop lives in this thread
    call_command("collectstatic", interactive=False, verbosity=0)
    person = Person.objects.get(username="tariq")
    tables = phone_codes.tables_of(person, timezone.localdate())
    kit = phone_codes.kits_of(person, timezone.localdate())[0]
    keys = [key for thing in tables["things"] for key in thing[6][:1] if len(key) > 8]
    texts = [*keys, "NEVER-SEEN-1"] * SCANS
    with server() as served, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=executable(), args=FLAGS)
        context = browser.new_context(viewport={"width": 390, "height": 844})
        name, _, value = cookie(person).partition("=")
        site = f"http://127.0.0.1:{served.port}"
        context.add_cookies([{"name": name, "value": value, "url": site}])
        page = context.new_page()
        page.goto(f"{site}/my/")
        expect(page.locator("ready-line[data-ready]")).to_have_count(1, timeout=60_000)
        context.set_offline(True)
        page.goto(f"{site}/my/{kit.job.code}/unbox")
        for text in texts[:SCANS]:
            scan(page, text)
        took = page.evaluate(
            "performance.getEntriesByName('outcome').map((entry) => entry.duration)"
        )
        browser.close()
    known = sum(len(thing[6]) for thing in tables["things"])
    line = (
        f"- A scan on a phone without signal, {len(took)} scans, in the page: "
        f"p50 {part(took, 0.5):.0f} ms, p95 {part(took, 0.95):.0f} ms (goal p95 {GOAL_MS} ms); "
        f"tables of {len(tables['jobs'])} jobs, {len(tables['things'])} things, {known} keys."
    )
    return [line]
