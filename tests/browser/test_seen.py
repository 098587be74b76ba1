"""A stop at the bench: seen from three metres, and nothing counts until somebody has seen it."""

from __future__ import annotations

import math

from playwright.sync_api import Page, expect

from inventory.codes.commands import COMMANDS, text_of
from inventory.models import Event
from tests.browser.bench import Bench
from tests.browser.test_one_walk import Hands

SEEN = next(text_of(number) for number, (told, _) in COMMANDS.items() if told == "seen")
MM = 25.4 / 96  # of a CSS pixel (Source: W3C CSS Values and Units, absolute lengths)
AWAY = 3000  # mm
# Least height of a capital read without strain: 16 minutes of arc (ISO 9241-303, from memory)
LEAST = AWAY * math.tan(math.radians(16 / 60))
CAPITAL = """(word) => {
  const pen = document.createElement("canvas").getContext("2d");
  const { fontWeight, fontSize, fontFamily } = getComputedStyle(word);
  pen.font = `${fontWeight} ${fontSize} ${fontFamily}`;
  return pen.measureText("H").actualBoundingBoxAscent;
}"""


def test_nothing_counts_after_a_stop_until_it_is_seen(page: Page, at_bench: Bench) -> None:
    """Nor on another page; the printed command opens it, and so does a touch."""
    kit, other = at_bench.kit, at_bench.yard.kit()
    foreign = other.packages.get(kind="parcel").place.code
    at_bench.yard.box("S1")
    at_bench.yard.mona.scan("set_aside", "S1", reason="a dent")
    at_bench.sign_in(page, "wanda")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"{at_bench.url}/kits/{kit.code}/load")
    bench = Hands(page)
    word, button = page.locator("scan-pad > .verdict strong"), page.locator("button.seen")
    assert word.evaluate(CAPITAL) * MM >= LEAST

    expect(button).to_be_hidden()
    bench.scan("BOX-S1", "is set aside: a dent")
    expect(word).to_have_text("Stop")
    expect(button).to_be_visible()
    lead = page.get_by_role("link", name="A lead lets it through")
    stop = Event.objects.get(step="load")
    expect(lead).to_have_attribute("href", f"{at_bench.url}/leads/word?event={stop.uid}")
    bench.scan("CT-BRACKET", "Nothing counts until it is seen")
    page.goto(f"{at_bench.url}/kits/{kit.code}/pick")
    expect(word).to_have_text("Stop")
    bench = Hands(page)
    bench.scan("CT-BRACKET", "Nothing counts until it is seen")
    assert [event.step for event in Event.objects.order_by("-number")[:1]] == ["load"]

    expect(lead).to_be_visible()
    bench.scan(SEEN, "Seen. Scan the next thing.")
    expect(lead).to_be_hidden()
    bench.scan("CT-BRACKET", "picked")
    bench.scan(SEEN, "Nothing waits to be seen.")
    bench.scan(foreign, f"This belongs to {other.code}")
    expect(word).to_have_text("Two claims")
    expect(lead).to_be_hidden()
    button.click()
    expect(button).to_be_hidden()
    bench.scan("CT-BRACKET", "picked")
