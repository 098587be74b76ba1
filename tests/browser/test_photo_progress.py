"""While a big photo is read, its page says how far that is."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from inventory.pictures.reading import Progress
from inventory.reading_progress import told
from tests.browser import bench

SENT = 'form => form.dispatchEvent(new Event("submit"))'
"""As a press of its button, but without the next page: while one is on its way Chromium answers no
driver."""


def test_the_page_says_how_far_its_photo_is(page: Page, live_server) -> None:
    """What is done is read aloud, the count beside it is not; it stands clear of the buttons."""
    served = bench.served(live_server.url)
    wanda = served.yard.wanda.person
    served.sign_in(page, "wanda")
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{live_server.url}/shelf-photo/")
    form = page.locator("form:has(photo-progress)")
    count = form.locator("photo-progress p:not([role])")
    with told(wanda, form.locator("[name=once]").input_value()) as tell:
        form.evaluate(SENT)
        expect(form.get_by_role("status")).to_have_text("The photo is on its way.")
        tell(Progress(52, 2, 3, 9))
        expect(form.get_by_role("status")).to_have_text(
            "Looking closely at what was not read at once."
        )
        expect(count).to_have_text("Round 2, place 3 of 9. 52 labels read so far.")
    assert count.evaluate("it => it.closest('[role=status], [aria-live]')") is None
    box = count.bounding_box()
    assert box is not None
    assert page.evaluate(
        "({ x, y }) => document.elementFromPoint(x, y).closest('photo-progress') !== null",
        {"x": box["x"] + 5, "y": box["y"] + box["height"] - 2},
    )
