"""One browser, two tabs: one numbering of events, one sender, nothing doubled."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from inventory.models import Device, Event
from tests.browser import bench
from tests.browser.bench import Bench, all_sent, saved_or_better, scan


@pytest.fixture
def at_bench(live_server) -> Bench:
    return bench.served(live_server.url)


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """Without signal the browser logs each attempt as an error; that is what is asked for here."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    yield context.new_page()
    context.close()


def test_two_tabs_number_and_send_as_one_device(page: Page, at_bench: Bench) -> None:
    """What both kept without signal arrives once each, under one device, without a gap."""
    at_bench.sign_in(page, "wanda")
    address = f"{at_bench.url}/kits/{at_bench.kit.code}/pick"
    page.goto(address)
    scan(page, "CT-BRACKET")
    saved_or_better(page, "applied")
    other = page.context.new_page()
    other.goto(address)

    page.context.set_offline(True)
    for tab in (page, other, page, other):
        tab.bring_to_front()
        scan(tab, "CT-CLAMP-L")
        saved_or_better(tab, "saved")
        tab.wait_for_timeout(150)
    for tab in (page, other):
        expect(tab.locator("unsent-badge summary span")).to_have_text("4 not sent", timeout=20_000)
    page.context.set_offline(False)
    for tab in (page, other):
        all_sent(tab)

    sent = Event.objects.filter(step="pick").order_by("seq")
    assert [event.scan.text for event in sent] == ["CT-BRACKET", *["CT-CLAMP-L"] * 4]
    assert [event.seq for event in sent] == [1, 2, 3, 4, 5]
    assert Device.objects.filter(events__in=sent).distinct().count() == 1
