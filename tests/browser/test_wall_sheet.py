"""The bench by scanner alone: commands and badges on paper, no touch, nothing typed."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from inventory import label_printing
from inventory.badges import badge_of
from inventory.codes.commands import COMMANDS, text_of
from inventory.models import Event, Movement, PrintJob
from kitting.models import Package
from tests.browser.bench import AGAIN, Bench
from tests.browser.keys import Scanner
from tests.stories.test_print_day import Queue

CODE = {told: text_of(number) for number, (told, _) in COMMANDS.items()}
SENTENCE = "document.querySelector('.verdict span').textContent"


class Hands:
    """A scanner at a page; what the page says after each scan."""

    def __init__(self, page: Page) -> None:
        self.page, self.scanner, self.scans = page, Scanner(page), 0

    def scan(self, text: str, words: str) -> None:
        """Scan until it came whole; the page must say these words."""
        said = self.page.locator("scan-pad > .verdict span")
        for _ in range(5):
            self.scanner.scan(text)
            self.scans += 1
            self.page.wait_for_timeout(40)
            if said.inner_text() != AGAIN:
                break
            self.page.wait_for_timeout(700)
        expect(said).to_contain_text(words)


def test_a_kit_is_packed_and_loaded_untouched(page: Page, at_bench: Bench) -> None:
    """Badge, numbers, undo, an empty bin, a full parcel, next: each is one scan."""
    kit, yard = at_bench.kit, at_bench.yard
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{kit.code}/pick")
    bench = Hands(page)
    bench.scan(badge_of(yard.mona.person), "Mona has the scanner, Wanda is signed in.")
    expect(page.locator("[data-whose]")).to_have_text("Mona has the scanner, Wanda is signed in.")
    bench.scan(CODE["2"], "2 of the next thing.")
    bench.scan("CT-BRACKET", "wall bracket picked")
    bench.scan("CT-CLAMP-L", "picked")
    bench.scan(CODE["5"], "5 of the next thing.")
    bench.scan(CODE["undo"], "One again.")
    bench.scan(CODE["undo"], "Undone.")

    picked = [json.loads(event.line) for event in Event.objects.filter(step="pick")]
    assert [one.get("quantity") for one in picked] == [2, None]
    assert {one["hands"] for one in picked} == {badge_of(yard.mona.person)}

    stop = page.locator("[data-absent]")
    expect(stop).to_have_attribute("data-text", "CT-BRACKET")
    bench.scan(CODE["absent"], "Scan it once more to say so.")
    assert not Event.objects.filter(step="count").exists()
    bench.scan(CODE["absent"], "and is put right")
    gone = Movement.objects.filter(event__step="count").get()
    assert (gone.from_place, gone.quantity) == (yard.firm.bins[0], 18)
    expect(stop).to_have_attribute("data-text", "CT-CLAMP-L")

    bench.scan(CODE["full"], "Parcel 2 is next")
    expect(page.locator("[data-parcels] h2")).to_have_text("Parcel 2 is packed now")
    bench.scan(CODE["again"], "You have printed nothing at once yet.")
    scanner = bench.scanner
    scanner.scan(CODE["next"])
    page.wait_for_url("**/load")
    parcel = Package.objects.get(kit=kit, kind="parcel", number=1).place
    loader = Hands(page)
    loader.scan(CODE["absent"], "Nothing on this page")
    loader.scan(parcel.code, "Parcel 1 loaded on Van 1.")
    loader.scanner.scan(CODE["next"])
    page.wait_for_url("**/kits/")
    loader.scanner.scan(CODE["next"])
    page.wait_for_url("**/pick")
    assert Event.objects.filter(line__contains="LBX").count() == 0


def test_a_badge_goes_with_the_sign_out(page: Page, at_bench: Bench) -> None:
    """A leaver's badge takes nobody's place; after a sign-out nobody's badge holds."""
    tove = at_bench.yard.tove.person
    tove.is_active = False
    tove.save()
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    bench = Hands(page)
    bench.scan(badge_of(at_bench.yard.mona.person), "Mona has the scanner")
    bench.scan(badge_of(tove), "Nobody who works here has this badge")
    expect(page.locator("[data-whose]")).to_be_hidden()
    bench.scan(badge_of(at_bench.yard.mona.person), "Mona has the scanner")
    page.get_by_role("button", name="Sign out").click()
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    expect(page.locator("[data-whose]")).to_be_hidden()
    Hands(page).scan("CT-BRACKET", "picked")

    assert "hands" not in json.loads(Event.objects.get(step="pick").line)


def test_print_again_prints_the_own_latest_once(
    page: Page, at_bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One scan prints once and leads back to the walk; what another one printed stays his."""
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    queue = Queue(tmp_path)
    queue.says(**{"job-id": 7})
    printer = label_printing.enter_printer(
        name="Bench", address="ipp://print.example.com/printers/bench", layout="roll-50x25", dpi=203
    )
    yard = at_bench.yard
    code = at_bench.kit.packages.get(kind="parcel").place.code
    mine = label_printing.keep(yard.wanda.person, printer, [code])
    label_printing.keep(yard.mona.person, printer, ["CT-BRACKET"])
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    scanner = Scanner(page)
    scanner.scan(CODE["again"])
    expect(page.locator(".said")).to_contain_text("1 label, Bench: with the printer")

    assert page.url.endswith("/pick")
    assert [job.again_of for job in PrintJob.objects.order_by("pk")] == [None, None, mine]
    assert len(queue.given()) == 1
