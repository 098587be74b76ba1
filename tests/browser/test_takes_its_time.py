"""A phone waits for its person: nothing runs out, nobody is asked twice, a touch takes back."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from inventory.models import Event
from kitting.models import PartRequest
from tests.browser import bench
from tests.browser.bench import Bench, all_sent
from tests.tree import TOP

HOUR = 3600 * 1000  # ms


@pytest.fixture
def served(live_server) -> Bench:
    return bench.on_its_van(live_server.url)


def test_an_hour_takes_nothing_away(page: Page, served: Bench) -> None:
    """A verdict, a code half typed and what lies open are there after an hour as they were."""
    page.clock.install()
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/{served.kit.job.code}/unbox")
    typed, verdict = page.get_by_label("Type a code"), page.locator("scan-pad > .verdict")
    typed.fill("S1")
    page.get_by_role("button", name="Enter", exact=True).click()
    expect(verdict).not_to_have_attribute("data-verdict", "ready")
    all_sent(page)
    typed.fill("CT-HALF")
    page.locator("unsent-badge summary").click()
    before = verdict.inner_text()

    page.clock.fast_forward(HOUR)

    assert verdict.inner_text() == before
    expect(verdict).to_be_visible()
    expect(typed).to_have_value("CT-HALF")
    expect(page.get_by_role("button", name="Send now")).to_be_visible()
    assert page.url.endswith("/unbox")


def test_what_one_touch_asked_for_one_touch_takes_back(page: Page, served: Bench) -> None:
    """No question before it; the button stands beside the answer, and undoes that very event."""
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/{served.kit.job.code}/missing")
    page.locator("details.sought > summary").first.click()
    form = page.locator("details.sought").first.locator("event-form:visible").first
    form.get_by_role("button", name=re.compile("Not there")).click()
    expect(page.get_by_text("the depot is asked for it as Q1")).to_be_visible()
    asked = Event.objects.get(pk=PartRequest.objects.get().event_id)

    form.get_by_role("button", name="Take it back").click()
    expect(form.locator(".verdict")).to_contain_text("Undone.")

    assert Event.objects.get(step="undo").reversal.reversed == asked
    expect(form.get_by_role("button", name="Take it back")).to_have_count(0)


def test_no_page_asks_are_you_sure_or_goes_by_itself() -> None:
    """No dialogue stands before an act, and no page leaves or reloads by the clock."""
    said = re.compile(
        r"(?<![.\w])(?<!async )(?:window\.)?(?:confirm|alert|prompt)\(|beforeunload|http-equiv"
    )
    places = [TOP / "inventory" / "static", TOP / "kitting" / "static", TOP / "templates"]
    read = [
        path
        for place in places
        for path in place.rglob("*")
        if path.suffix in (".js", ".html") and path.name not in ("reader.js", "htmx.min.js")
    ]
    found = [path.name for path in read if said.search(path.read_text(encoding="utf-8"))]

    assert len(read) > 100
    assert found == []


@pytest.mark.parametrize("lasting", [True, False])
def test_the_browser_is_asked_to_keep_what_waits(
    chromium: Browser, served: Bench, lasting: bool
) -> None:
    """Its own answer, yes or no, is what the person reads under the badge."""
    context = chromium.new_context()
    page = context.new_page()
    session = context.new_cdp_session(page)
    where = session.send("Target.getTargetInfo")["targetInfo"]["browserContextId"]
    said = {"setting": "granted" if lasting else "denied", "browserContextId": where}
    session.send("Browser.setPermission", {"permission": {"name": "persistent-storage"}, **said})
    served.sign_in(page, "tariq")
    page.locator("unsent-badge summary").click()
    words = "keeps it even when" if lasting else "may throw it away when"
    expect(page.locator("unsent-badge .lasting")).to_contain_text(words)
    assert page.evaluate("() => navigator.storage.persisted()") is lasting
    context.close()


def test_what_is_not_sent_is_marked_as_busy_while_it_is_asked(page: Page, served: Bench) -> None:
    """Until it is drawn anew it says what was so before: who waits for it must be able to tell."""
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/{served.kit.job.code}/unbox")
    all_sent(page)
    busy = """() => {
      document.dispatchEvent(new Event("queue:changed"));
      return document.querySelector("unsent-badge").getAttribute("aria-busy");
    }"""

    assert page.evaluate(busy) == "true"
    expect(page.locator("unsent-badge:not([aria-busy])")).to_have_count(1)
