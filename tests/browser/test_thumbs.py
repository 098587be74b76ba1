"""Pages under a gloved thumb: what is pressed is large, nothing scrolls sideways, either theme."""

import pytest
from playwright.sync_api import Browser, Page

from tests.browser import bench

PRESSED = "button, .button, input, select, summary, label.press"
SMALL = """(pressed) => [...document.querySelectorAll(pressed)]
    .filter((one) => one.checkVisibility() && one.type !== "hidden" && one.type !== "file")
    .map((one) => [one, (one.matches("[type=radio], [type=checkbox]") ? one.closest("label") : one)
        .getBoundingClientRect()])
    .filter(([one, box]) => box.height < 48 || box.width < 48)
    .map(([one, box]) => `${one.tagName} ${one.textContent.trim()} ${box.width} x ${box.height}`)"""
PAGES = {
    "wanda": ["/kits/", "/kits/J1001-1/", "/kits/J1001-1/pick", "/kits/J1001-1/load", "/goods-in/"],
    "tariq": [
        "/my/",
        "/my/J1001/",
        "/my/J1001/load",
        "/my/J1001/unbox",
        "/my/J1001/fit",
        "/my/J1001/problem",
        "/my/J1001/back",
    ],
    "mona": [
        "/week/",
        "/jobs/new",
        "/jobs/J1001/",
        "/jobs/J1001/visit",
        "/jobs/J1001/compare",
        "/kits/J1001-1/why?item=CT-BOLT6",
        "/people/",
        "/places/",
        "/stock/",
        "/problems/",
    ],
}


@pytest.mark.parametrize("name", PAGES)
def test_what_is_pressed_is_large(page: Page, live_server, name: str) -> None:
    """No control is under 48 px either way, and no page is wider than a phone or a desk."""
    served = bench.served(live_server.url)
    served.sign_in(page, name)
    found = []
    for address in PAGES[name]:
        page.goto(f"{served.url}{address}")
        found += [f"{address}: {one}" for one in page.evaluate(SMALL, PRESSED)]
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 844})
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                found.append(f"{address} is wider than {width} px")

    assert found == []


def test_thumb_controls_are_twenty_millimetres(page: Page, live_server) -> None:
    """Scan and undo are at least 126 px tall (20 mm at 160 px an inch) in the lower third."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/J1001/unbox")
    scan = page.locator(".hands live-camera button, .hands label.press")  # the latter without node
    for control in (scan, page.locator(".hands .undo")):
        box = control.bounding_box()
        assert box
        assert box["height"] >= 126
        assert box["y"] > 844 * 2 / 3


def test_dark_is_a_theme_of_its_own(chromium: Browser, live_server) -> None:
    """Where the phone asks for dark, the ground is dark and the ink is light."""
    grounds = {}
    for scheme in ("light", "dark"):
        context = chromium.new_context(color_scheme=scheme)
        page = context.new_page()
        page.goto(f"{live_server.url}/sign-in")
        grounds[scheme] = page.evaluate("getComputedStyle(document.body).backgroundColor")
        context.close()

    assert grounds == {"light": "rgb(237, 235, 229)", "dark": "rgb(14, 17, 19)"}
