"""One browser, two tabs: one numbering of events, one sender, nothing doubled."""

from playwright.sync_api import Page, expect

from inventory.models import Device, Event
from tests.browser.bench import Bench, all_sent, saved_or_better, scan


def test_two_tabs_number_and_send_as_one_device(unwatched: Page, at_bench: Bench) -> None:
    """What both kept without signal arrives once each, under one device, without a gap."""
    at_bench.sign_in(unwatched, "wanda")
    address = f"{at_bench.url}/kits/{at_bench.kit.code}/pick"
    unwatched.goto(address)
    scan(unwatched, "CT-BRACKET")
    saved_or_better(unwatched, "applied")
    other = unwatched.context.new_page()
    other.goto(address)

    unwatched.context.set_offline(True)
    for tab in (unwatched, other, unwatched, other):
        tab.bring_to_front()
        scan(tab, "CT-CLAMP-L")
        saved_or_better(tab, "saved")
        tab.wait_for_timeout(150)
    for tab in (unwatched, other):
        expect(tab.locator("unsent-badge summary span")).to_have_text("4 not sent", timeout=20_000)
    unwatched.context.set_offline(False)
    for tab in (unwatched, other):
        all_sent(tab)

    sent = Event.objects.filter(step="pick").order_by("seq")
    assert [event.scan.text for event in sent] == ["CT-BRACKET", *["CT-CLAMP-L"] * 4]
    assert [event.seq for event in sent] == [1, 2, 3, 4, 5]
    assert Device.objects.filter(events__in=sent).distinct().count() == 1
