"""A recalled battery comes off the wall: the phone tells its crew nothing against the plan."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from inventory.models import Event
from kitting.models import Kit
from tests.browser.bench import Bench, all_sent, served
from tests.browser.keys import Scanner
from tests.inventory.recalls import freeze, letter
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import about

FIRST, SECOND = ({"stack": 1, "level": n} for n in (1, 2))


@pytest.fixture
def removal(live_server) -> tuple[Bench, Kit]:
    """A tower stands, one of its modules is named by a letter, and all of it is to come off."""
    firm = served(live_server.url)
    yard = firm.yard
    carry(yard, firm.kit, "SN01", "SN02")
    for serial, place in (("SN01", FIRST), ("SN02", SECOND)):
        yard.tariq.scan("fit", serial, position=place, **about(firm.kit))
    freeze(yard.mona, letter(yard.mona, "model CT-MODULE; serials SN01"))
    return firm, yard.kit(yard.job(job="removal"))


@pytest.mark.parametrize("signal", [True, False])
def test_what_is_set_aside_may_be_taken_down(
    unwatched: Page, removal: tuple[Bench, Kit], signal: bool
) -> None:
    """With signal and without: it is to come off, so nothing says not to use it."""
    page, (firm, kit) = unwatched, removal
    firm.sign_in(page, "tariq")
    page.goto(f"{firm.url}/my/")
    expect(page.locator("ready-line")).to_contain_text("Ready without signal")
    page.goto(f"{firm.url}/my/{kit.job.code}/down")
    all_sent(page)
    page.get_by_role("button", name="I have read this").click()
    page.context.set_offline(not signal)
    Scanner(page).scan("SN01")
    said = page.locator("scan-pad > .verdict")
    if not signal:
        expect(said).to_have_attribute("data-verdict", "saved")
        expect(said).not_to_contain_text("do not use it")
        page.context.set_offline(False)
    expect(said).to_have_attribute("data-verdict", "applied")
    expect(said).to_contain_text("battery module SN01: taken down.")
    expect(said).not_to_contain_text("The record says otherwise")
    all_sent(page)
    assert Event.objects.filter(step="take_down").count() == 1
