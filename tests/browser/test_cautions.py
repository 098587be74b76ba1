"""The cautions of a work lie over it until they are read: no scanner reaches under them."""

from playwright.sync_api import Page, expect

from inventory.models import Event
from tests.browser.bench import Bench, all_sent
from tests.browser.keys import Scanner


def test_nothing_is_scanned_before_the_cautions_are_read(page: Page, at_bench: Bench) -> None:
    """Told at once and kept nowhere; read once, the same scan counts."""
    at_bench.sign_in(page, "tariq")
    page.goto(f"{at_bench.url}/my/{at_bench.kit.job.code}/fit")
    all_sent(page)
    said = page.locator("scan-pad > .verdict")
    Scanner(page).scan("CT-BRACKET")
    expect(said).to_contain_text("Read the cautions first.")
    all_sent(page)
    assert not Event.objects.filter(step="fit").exists()

    page.get_by_role("button", name="I have read this").click()
    page.get_by_label("place 1").first.check()
    Scanner(page).scan("CT-BRACKET")
    expect(said).not_to_contain_text("Read the cautions first.")
    all_sent(page)
    assert Event.objects.filter(step="fit").count() == 1
