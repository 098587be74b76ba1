"""Pages under a gloved thumb: what is pressed is large, nothing scrolls sideways, either theme."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from kitting.models import Job
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


BROKEN = """() => {
  const found = [];
  for (const press of document.querySelectorAll("button, .button, label.press, summary")) {
    const walk = document.createTreeWalker(press, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
      for (const { index, 0: word } of walk.currentNode.data.matchAll(/[^\\s\u00ad-]+/g)) {
        const range = document.createRange();
        range.setStart(walk.currentNode, index);
        range.setEnd(walk.currentNode, index + word.length);
        const lines = new Set([...range.getClientRects()].map(({ bottom }) => Math.round(bottom)));
        if (press.checkVisibility() && lines.size > 1) found.push(word);
      }
    }
  }
  return found;
}"""


@pytest.mark.parametrize("language", ["en", "de", "es"])
def test_no_word_on_what_is_pressed_is_broken(
    chromium: Browser, live_server, language: str
) -> None:
    """On a phone of 320 px, in each of its languages: read with a glance or not at all."""
    served = bench.on_its_van(live_server.url)
    page = chromium.new_page(viewport={"width": 320, "height": 700}, locale=language)
    served.sign_in(page, "tariq")
    found = []
    for address in (*PAGES["tariq"], "/my/J1001/start", "/my/J1001/missing", "/my/J1001/differs"):
        page.goto(f"{served.url}{address}")
        expect(page.locator("html")).to_have_attribute("lang", re.compile(f"^{language}"))
        found += [f"{address}: {word}" for word in page.evaluate(BROKEN)]
    page.close()

    assert found == []


# That a phone draws 160 px to its inch is common practice, no source: 20 mm are 126 px.
GLOVED = """() => {
    const thumb = 125.5, high = Math.max(innerHeight / 3, 130.5), found = [];
    const scan = ".hands live-camera button, .hands label.press"; // the latter without node
    const controls = [scan, ".hands .undo", ".hands .onward"];
    const boxes = controls.map((one) => document.querySelector(one).getBoundingClientRect());
    const apart = (one, other) => one.right <= other.left || other.right <= one.left
        || one.bottom <= other.top || other.bottom <= one.top;
    const waits = document.querySelector("[data-waits], [data-unscanned]");
    boxes.forEach((box, n) => {
        const least = innerWidth < 390 && n === (waits ? 2 : 0);
        const wide = least && box.width > 2 * thumb && box.height >= 48;
        if (Math.min(box.width, box.height) < thumb && !wide) found.push(`${n} small`);
        if (box.top < innerHeight - high || box.bottom > innerHeight) found.push(`${n} is not low`);
        if (box.left < 0 || box.right > innerWidth) found.push(`${n} is cut`);
        if (boxes.slice(0, n).some((other) => !apart(box, other))) found.push(`${n} lies over`);
    });
    return found;
}"""
KINDS = {
    "new": ("load", "unbox", "fit", "back"),
    "swap": ("swap",),
    "removal": ("down",),
}


def test_scan_undo_and_next_lie_under_the_thumb(page: Page, live_server) -> None:
    """Each is 20 mm either way, in the lower third; on 320 px, where three do not go abreast, the
    one that is least needed is 50 mm wide above the other two. A phone on its side is not three
    times 20 mm high: there they lie at its foot."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    faults = []
    for kind, steps in KINDS.items():
        Job.objects.update(kind=kind)
        for step in steps:
            page.goto(f"{served.url}/my/J1001/{step}")
            for width, height in ((320, 568), (390, 844), (844, 390), (568, 320)):
                page.set_viewport_size({"width": width, "height": height})
                faults += [(step, width, one) for one in page.evaluate(GLOVED)]

    assert faults == []


# By width and height, on 320 px: which of the three lie whole under the thumb.
LARGE = """() => ["live-camera button", ".undo", ".onward"].filter((one) => {
    const box = document.querySelector(`.hands ${one}`).getBoundingClientRect();
    return Math.min(box.width, box.height) > 125.5;
})"""


@bench.needs_decoder
def test_on_the_smallest_phone_next_is_large_as_soon_as_nothing_waits(
    page: Page, live_server
) -> None:
    """Three times 20 mm do not go in its lower third: until all is scanned the camera has it."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    page.set_viewport_size({"width": 320, "height": 568})
    large = {}
    for step in ("load", "fit"):
        page.goto(f"{served.url}/my/J1001/{step}")
        large[step] = page.evaluate(LARGE)
    page.evaluate(
        "document.querySelectorAll('[data-waits], [data-unscanned]').forEach((one) => one.remove())"
    )

    assert large == {step: ["live-camera button", ".undo"] for step in ("load", "fit")}
    assert page.evaluate(LARGE) == [".undo", ".onward"]
    assert page.evaluate(GLOVED) == []


def test_next_leads_from_place_to_place_and_from_page_to_page(page: Page, live_server) -> None:
    """One thumb goes through a job: at fitting through the free places, then on to start up."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/J1001/unbox")
    onward = page.locator(".hands .onward")
    onward.click()
    page.wait_for_url("**/fit")
    page.get_by_role("button", name="I have read this").click()
    chosen = page.locator("[name=position]:checked")
    said = page.locator("scan-pad > .verdict span")
    for place in page.locator("[name=position]").all():
        expect(onward).to_contain_text("free place")
        onward.click()
        value = place.get_attribute("value")
        expect(chosen).to_have_value(value)
        expect(page.locator(".chosen[data-position]")).to_have_attribute("data-position", value)
        expect(said).to_contain_text(f"Now at {place.locator('xpath=..').inner_text().strip()}.")
    expect(onward).to_contain_text("Start up")
    onward.click()
    page.wait_for_url("**/start")
    page.goto(f"{served.url}/my/J1001/back")
    onward.click()
    expect(page.get_by_role("heading", name="Hand over")).to_be_in_viewport()


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
