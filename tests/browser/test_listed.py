"""A long list is typed into: at the bench, by hand and by scan, on a phone's width."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from inventory.models import Event, Place
from inventory.overviews import our_places
from tests.browser.bench import Bench, all_sent, saved_or_better
from tests.browser.keys import Scanner


@pytest.fixture
def many(at_bench: Bench) -> Bench:
    """The bench's firm with sixty bins more, two of one name."""
    depot = at_bench.yard.firm.dock.parent
    names = [f"Rack {n}" for n in range(59)] + ["Rack 7"]
    for n, name in enumerate(names):
        Place.objects.create(kind="bin", code=f"BB{n:02}", name=name, parent=depot)
    return at_bench


def last(step: str) -> dict[str, str]:
    return json.loads(Event.objects.filter(step=step).order_by("number").last().line)


def test_a_place_is_typed_chosen_or_scanned(page: Page, many: Bench) -> None:
    """What was offered, its code, or its name alone; a scan of its label chooses it, too."""
    page.set_viewport_size({"width": 390, "height": 844})
    many.sign_in(page, "wanda")
    page.goto(f"{many.url}/put-away/")
    to, start = page.get_by_label("It goes to"), page.get_by_label("It comes from")
    expect(page.locator("datalist option")).to_have_count(our_places().count())
    assert page.locator("select").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

    start.fill("bin 1")
    to.fill("Rack 12, Depot (BB12)")  # what stands there once it is chosen
    page.get_by_label("How many").fill("3")
    page.get_by_label("How many").blur()
    Scanner(page).scan("CT-BRACKET")
    saved_or_better(page, "applied")
    assert (last("put")["target"], last("put")["from"]) == ("BB12", "BIN1")

    Scanner(page).scan("BB15")
    expect(page.locator("scan-pad > .verdict")).to_contain_text("Now at Rack 15, Depot (BB15)")
    expect(to).to_have_value("Rack 15, Depot (BB15)")
    all_sent(page)
    assert Event.objects.filter(step="put").count() == 1


@pytest.mark.parametrize("typed", ["Rack 7", "Rak 12", "BB"])
def test_what_names_no_one_place_is_refused_at_once(page: Page, many: Bench, typed: str) -> None:
    """Two of that name, a slip, a beginning: nothing is kept of the scan."""
    many.sign_in(page, "wanda")
    page.goto(f"{many.url}/put-away/")
    to = page.get_by_label("It goes to")
    to.fill(typed)
    to.blur()
    Scanner(page).scan("CT-BRACKET")

    words = f"It goes to: {typed} is none of the list. Choose one that is offered."
    expect(page.locator("scan-pad > .verdict")).to_contain_text(words)
    expect(to).to_have_attribute("aria-invalid", "true")
    all_sent(page)
    assert not Event.objects.filter(step="put").exists()
