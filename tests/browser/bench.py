"""A served firm with one kit to pick, and what a person and a hand scanner do in a browser."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from django.contrib.staticfiles import finders
from playwright.sync_api import BrowserContext, Page, expect

from inventory.models import Event, Person
from inventory.templatetags.decoder import FILES
from kitting.models import Kit
from tests.kitting import yard
from tests.kitting.yard import Yard, about

PASSWORD = "twelve letters and more"

needs_decoder = pytest.mark.skipif(
    finders.find(FILES["wasm"]) is None,
    reason="the live camera's decoder is not installed: `make setup` says why",
)


@dataclass
class Bench:
    """The firm, its kit, and the address it is served at."""

    url: str
    yard: Yard
    kit: Kit

    def sign_in(self, page: Page, name: str) -> None:
        """As a person does it, whatever the phone's language."""
        page.goto(f"{self.url}/sign-in")
        page.locator("[name=username]").fill(name)
        page.locator("[name=password]").fill(PASSWORD)
        page.locator("main form button").click()
        page.wait_for_url(lambda address: "sign-in" not in address)

    def scans(self, step: str) -> list[str]:
        """Texts of the events of a step that arrived, in ledger order."""
        events = Event.objects.filter(step=step).order_by("number")
        return list(events.values_list("scan__text", flat=True))


def served(url: str) -> Bench:
    """Fill the empty database."""
    made = yard.build()
    for person in Person.objects.all():
        person.set_password(PASSWORD)
        person.save()
    made.shelve("CT-BRACKET", 20)
    made.shelve("CT-CLAMP-L", 20, made.firm.bins[1])
    return Bench(url, made, made.kit())


def on_its_van(url: str) -> Bench:
    """The same, and one module of the kit is on its van."""
    found = served(url)
    found.yard.box("S1")
    for step in ("pick", "load"):
        found.yard.wanda.scan(step, "BOX-S1", **about(found.kit))
    return found


AGAIN = "The code did not come whole. Scan it again."


def scan(page: Page, text: str, gap: float = 8) -> None:
    """Type like a hand scanner: real key events, `gap` ms apart, then Enter.

    On a busy machine a key may come late; then the page says so, and a person scans again.
    """
    said = page.locator("scan-pad > .verdict span")
    for _ in range(5):
        said.evaluate("one => { one.textContent = ''; }")
        page.keyboard.type(text, delay=gap)
        page.keyboard.press("Enter")
        expect(said).not_to_have_text("")
        if said.inner_text() != AGAIN:
            return
        page.wait_for_timeout(700)
    raise AssertionError("five scans in a row came torn")


def verdict(page: Page) -> str:
    """The word a person reads now."""
    return page.locator("scan-pad > .verdict strong").inner_text()


def saved_or_better(page: Page, verdict: str) -> None:
    """Wait until the big area shows this verdict."""
    expect(page.locator("scan-pad > .verdict")).to_have_attribute("data-verdict", verdict)


def all_sent(page: Page, patience: int = 20_000) -> None:
    """Wait until the badge says that nothing waits, `patience` ms at most.

    Not one that is busy: it says what was so before the last scan.
    """
    said = page.locator("unsent-badge:not([aria-busy]) summary span")
    expect(said).to_have_text("All sent", timeout=patience)


def waiting(page: Page) -> str:
    """What the badge says."""
    return page.locator("unsent-badge summary span").inner_text()


def without_signal(context: BrowserContext, off: bool) -> None:
    """Cut the line, or put it back."""
    context.set_offline(off)
