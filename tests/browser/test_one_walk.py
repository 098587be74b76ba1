"""One walk for several kits by scanner alone: a thing, then the label of each box it goes into."""

from __future__ import annotations

import json
import re

from playwright.sync_api import Page, expect

from inventory.codes.commands import COMMANDS, text_of
from inventory.models import Event, Holding
from tests.browser.bench import Bench
from tests.browser.keys import Scanner

TORN = ("did not come whole", "sent no Enter")  # a busy machine typed too slowly
CODE = {told: text_of(number) for number, (told, _) in COMMANDS.items()}


class Hands:
    """A scanner at a page; what the page says after each scan."""

    def __init__(self, page: Page) -> None:
        self.page, self.scanner = page, Scanner(page)

    def scan(self, text: str, words: str) -> None:
        """Scan until it came whole; the page must say these words."""
        said = self.page.locator("scan-pad > .verdict span")
        before = said.inner_text()
        for _ in range(5):
            self.scanner.scan(text)
            self.page.wait_for_timeout(60)
            if said.inner_text() != before and not any(one in said.inner_text() for one in TORN):
                break
            # Torn, or so slow that it passed for a person's typing.
            self.page.wait_for_timeout(700)
            if words in said.inner_text():
                break
        expect(said).to_contain_text(words)


def test_a_line_goes_into_the_boxes_that_the_page_names(page: Page, at_bench: Bench) -> None:
    """The split is said large; a box that takes none is stopped; a number of the wall counts."""
    yard, first = at_bench.yard, at_bench.kit
    second = yard.kit()
    boxes = [kit.packages.get(kind="parcel").place.code for kit in (first, second)]
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/walk/?kit={first.code}&kit={second.code}")
    bench = Hands(page)
    large = page.locator("scan-pad > .verdict strong")

    bench.scan(boxes[0], "Scan the thing first, then its box.")
    bench.scan("CT-BRACKET", "Scan the box it goes into.")
    expect(large).to_have_text("A 3, B 3")
    bench.scan(boxes[0], "picked")
    expect(page.locator("[data-line]", has_text="wall bracket").locator(".split")).to_have_text(
        re.compile(r"^B\s3$")
    )
    bench.scan(boxes[0], "Box A takes none of it. It goes into B 3.")
    expect(page.locator("scan-pad > .verdict")).to_have_attribute("data-verdict", "stopped")
    bench.scan(CODE["2"], "2 of the next thing.")
    bench.scan(boxes[1], "picked")
    bench.scan("CT-CLAMP-L", "Scan the box it goes into.")
    bag = second.packages.get(kind="bag", step="join").place.code
    bench.scan(bag, "picked")
    bench.scan(CODE["undo"], "Undone.")
    bench.scan(CODE["full"], "Parcel 2 is next")

    picked = [json.loads(event.line) for event in Event.objects.filter(step="pick").order_by("pk")]
    assert [(one["subject"], one["quantity"]) for one in picked] == [
        (first.subject, 3),
        (second.subject, 2),
        (second.subject, picked[2]["quantity"]),
    ]
    assert [one["from"] for one in picked] == ["BIN1", "BIN1", "BIN2"]
    assert [one.get("target") for one in picked] == [None, None, bag]
    full = Event.objects.get(step="parcel_full")
    assert full.subject == second.subject


def test_a_piece_before_its_turn_is_asked_back_once(page: Page, at_bench: Bench) -> None:
    """The last visit's parcel first; another one is loaded on the second scan, for its own kit."""
    yard, first = at_bench.yard, at_bench.kit
    second = yard.kit()
    for kit in (first, second):
        yard.wanda.scan("pick", "CT-BRACKET", quantity=2, subject=kit.subject)
    parcels = [kit.packages.get(kind="parcel").place.code for kit in (first, second)]
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/vans/VAN1/2026-11-26/load")
    bench = Hands(page)

    bench.scan(parcels[0], "That is for A, visit 1. B, visit 2 goes in before it.")
    assert not Event.objects.filter(step="load").exists()
    bench.scan(parcels[0], "Parcel 1 loaded on Van 1.")
    bench.scan(parcels[1], "Parcel 1 loaded on Van 1.")
    bench.scan(parcels[1], "is on the van already")

    loaded = Event.objects.filter(step="load").order_by("number")
    assert list(loaded.values_list("subject", flat=True)) == [first.subject, *[second.subject] * 2]


def test_a_bag_takes_its_own_part(page: Page, at_bench: Bench) -> None:
    """Of one item for several bags a scanned bag takes what its step needs; the rest waits."""
    yard, kit = at_bench.yard, at_bench.kit
    yard.shelve("CT-SCREW5", 60)
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/walk/?kit={kit.code}")
    bench = Hands(page)
    parts = page.locator("[data-line]", has_text="screw M5").locator("[data-bag]")
    wanted = {
        one.get_attribute("data-bag"): int(one.get_attribute("data-quantity") or 0)
        for one in parts.all()
    }
    first, second, *_ = wanted

    bench.scan("CT-SCREW5", "Scan the box it goes into.")
    bench.scan(first, "picked")
    bench.scan(second, "picked")

    held = Holding.objects.filter(lot__item__code="CT-SCREW5", place__code__in=wanted)
    assert dict(held.filter(quantity__gt=0).values_list("place__code", "quantity")) == {
        code: wanted[code] for code in (first, second)
    }


def test_what_no_shelf_has_is_asked_for_and_what_nobody_wants_is_not(
    page: Page, at_bench: Bench
) -> None:
    """A lacking item that lies there all the same is told its boxes; another thing has none."""
    kit = at_bench.kit
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/walk/?kit={kit.code}")
    bench = Hands(page)
    large = page.locator("scan-pad > .verdict strong")

    bench.scan("CT-TORQ", "not in stock by the book. Scan the box it goes into.")
    expect(large).to_have_text("A 1")
    bench.scan(kit.packages.get(kind="parcel").place.code, "picked")
    expect(page.locator("[data-line]", has_text="torque wrench")).to_have_count(0)
    bench.scan("CT-TORQ", "That is on no line of this walk.")
    expect(large).to_have_text("On no line")
    expect(page.locator("scan-pad > .verdict")).to_have_attribute("data-verdict", "problem")
