"""The bench by scanner alone: commands and badges on paper, no touch, nothing typed."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from inventory import label_printing
from inventory.badges import badge_of
from inventory.codes.commands import COMMANDS, text_of
from inventory.models import Event, Movement, PrintJob
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.browser.bench import AGAIN, Bench, all_sent
from tests.browser.keys import Scanner
from tests.counts import counts
from tests.kitting.yard import about
from tests.stories.test_one_job import stock
from tests.stories.test_print_day import Queue, texts

CODE = {told: text_of(number) for number, (told, _) in COMMANDS.items()}
BLANK = "document.querySelectorAll('%s span').forEach((one) => (one.textContent = ''))"
FIELDS = "input:not([type=radio], [type=hidden]), textarea"
NOTHING_LEFT = f"[...document.querySelectorAll('{FIELDS}')].map((one) => one.value).join('')"
COUNTED = """
  window.hands = { touches: 0, typed: 0 };
  addEventListener("pointerdown", () => (window.hands.touches += 1), true);
  addEventListener("input", () => (window.hands.typed += 1), true);
  addEventListener("submit", () => (window.hands.typed += 1), true);
"""
TORN = (AGAIN, "Nobody here knows this code")  # keys came late, on a busy machine
MANY = (25, 10, 5, 2)


def parts(quantity: int) -> list[int]:
    """How a person says a number by the sheet: 9 is 5, 2 and 2."""
    found = []
    for many in (*MANY, 1):
        found += [many] * (quantity // many)
        quantity %= many
    return found


class Hands:
    """A scanner at a page; what the page says after each scan."""

    def __init__(self, page: Page) -> None:
        self.page, self.scanner, self.scans = page, Scanner(page), 0
        self.said = "scan-pad > .verdict"

    def scan(self, text: str, words: str) -> None:
        """Scan until it was heard whole, as a busy machine may not; the page must say the words."""
        said = self.page.locator(f"{self.said} span")
        for _ in range(5):
            self.page.evaluate(BLANK % self.said)
            self.scanner.scan(text)
            self.scans += 1
            try:
                expect(said).not_to_have_text("", timeout=1_500)
            except AssertionError:
                continue
            if not said.inner_text().startswith(TORN):
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


def turns(kit: Kit, least: int) -> Iterator[tuple[str, int]]:
    """(code, how many) in the order of a walk with both hands full: each item once, then again.

    least: items that are taken by the sheet; what comes after them in the kit lies packed already.
    """
    totals = [one for one in fold(kit).totals.values() if one.item.tracking != "serial"]
    numbers = {t.item.code: parts(t.to_pick) if t.item.unit == "piece" else [1] for t in totals}
    chosen = dict(list(numbers.items())[:least])
    for turn in range(max(map(len, chosen.values()))):
        yield from ((code, said[turn]) for code, said in chosen.items() if turn < len(said))


def test_a_whole_kit_is_packed_and_loaded_with_no_touch_and_nothing_typed(
    page: Page, at_bench: Bench
) -> None:
    """From the badge to the van by the scanner alone: 0 touches, 0 typed, all of it counted."""
    kit, yard = at_bench.kit, at_bench.yard
    stock(yard, kit)
    scans = list(turns(kit, counts(10, 1_000)))
    for total in fold(kit).totals.values():
        if total.to_pick and total.item.tracking != "serial" and total.item.code not in dict(scans):
            yard.wanda.scan("pick", total.item.code, quantity=total.to_pick, **about(kit))
    before = Event.objects.count()
    page.add_init_script(COUNTED)
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{kit.code}/pick")
    bench = Hands(page)
    bench.scan(badge_of(yard.mona.person), "Mona has the scanner")
    for box in ("BOX-M1", "BOX-M2", "BOX-P1"):
        bench.scan(box, "picked")
    for code, many in scans:
        if many > 1:
            bench.scan(CODE[str(many)], f"{many} of the next thing")
        bench.scan(code, "picked")
    assert fold(kit).all_picked
    said = page.evaluate("window.hands"), page.evaluate(NOTHING_LEFT)
    bench.scanner.scan(CODE["next"])
    page.wait_for_url("**/load")
    loader = Hands(page)
    bay = kit.packages.get(kind="bay").place
    loose = bay.holdings.filter(quantity__gt=0).values_list("lot__item__code", flat=True)
    parcel = kit.packages.get(kind="parcel").place.code
    for text in (parcel, "BOX-M1", "BOX-M2", "BOX-P1", *loose):
        loader.scan(text, "loaded")
    assert fold(kit).all_loaded

    assert said == ({"touches": 0, "typed": 0}, "")
    assert page.evaluate("window.hands") == {"touches": 0, "typed": 0}
    lines = [json.loads(one.line) for one in Event.objects.order_by("number")[before:]]
    assert {line["via"] for line in lines} == {"keys"}
    assert {line["hands"] for line in lines} == {badge_of(yard.mona.person)}
    commands = sum(many > 1 for _, many in scans)
    least = 1 + 3 + len(scans) + commands + 4 + len(loose)  # badge, boxes, ..., what is loaded
    assert bench.scans + loader.scans >= least
    assert len(lines) == least - 1 - commands


def test_the_number_in_force_stands_by_itself(page: Page, at_bench: Bench) -> None:
    """An answer that comes late writes over the sentence, not over the number; a box takes none."""
    held: list[Route] = []
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    number, bench = page.locator("[data-many]"), Hands(page)

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/api/events*", hold)
    bench.scan("CT-BRACKET", "CT-BRACKET is kept")
    bench.scan(CODE["5"], "5 of the next thing. Scan it.")
    for _ in range(200):
        if held:
            break
        page.wait_for_timeout(100)
    held.pop().continue_()
    page.unroute("**/api/events*")
    expect(page.locator("scan-pad > .verdict span")).to_contain_text("wall bracket picked")
    expect(number).to_have_text("5 of the next thing")
    expect(number).to_be_visible()
    bench.scan("CT-CLAMP-L", "picked")
    expect(number).to_be_hidden()
    all_sent(page)
    at_bench.yard.box("M1")
    bench.scan(CODE["5"], "5 of the next thing. Scan it.")
    bench.scan("BOX-M1", "is one, not 5. Scan each by itself.")
    expect(number).to_be_hidden()

    picked = [json.loads(one.line) for one in Event.objects.filter(step="pick").order_by("number")]
    assert [one.get("quantity") for one in picked] == [None, 5, 5]


def test_a_badge_holds_from_the_server_s_yes_on_and_lapses(
    unwatched: Page, at_bench: Bench
) -> None:
    """Without signal it holds nothing, and says so; half an hour without a scan ends it."""
    page, mona = unwatched, at_bench.yard.mona.person
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    bench, whose = Hands(page), page.locator("[data-whose]")
    page.context.set_offline(True)
    bench.scan(badge_of(mona), "No signal: nobody can say whose badge that is.")
    expect(whose).to_be_hidden()
    bench.scan("CT-BRACKET", "is kept")
    page.context.set_offline(False)
    all_sent(page)  # a late answer would be taken for the next scan's
    bench.scan(badge_of(mona), "Mona has the scanner")
    now = datetime.now(UTC)
    for minutes, word in ((29, "CT-CLAMP-L"), (58, "CT-BRACKET"), (89, "CT-CLAMP-L")):
        page.clock.set_fixed_time(now + timedelta(minutes=minutes))
        bench.scan(word, "picked")
    expect(whose).to_be_hidden()
    all_sent(page)

    lines = [json.loads(one.line) for one in Event.objects.filter(step="pick").order_by("number")]
    mine = badge_of(mona)
    assert [line.get("hands") for line in lines] == [None, mine, mine, None]


def test_pages_without_a_pad_answer_aloud(page: Page, at_bench: Bench) -> None:
    """What a page has not is said; a badge is taken; a code goes where the page asks for one."""
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/stock/")
    bench = Hands(page)
    bench.said = "[data-aloud]"
    for text, words in (
        (CODE["undo"], "This page has nothing to undo."),
        (CODE["10"], "This page takes no number."),
        (CODE["absent"], "This page has nothing that could be said not to be there."),
        (CODE["full"], "This page has no parcel that is being packed."),
        (CODE["next"], "There is nothing next on this page."),
        (CODE["again"], "You have printed nothing at once yet."),
        ("CT-BRACKET", "This page takes no scans: nothing was noted."),
        (badge_of(at_bench.yard.mona.person), "Mona has the scanner, Wanda is signed in."),
    ):
        bench.scan(text, words)
        assert page.evaluate(NOTHING_LEFT) == ""
    page.goto(f"{at_bench.url}/trace/")
    for _ in range(5):
        bench.scanner.scan("CT-BRACKET")
        page.wait_for_timeout(700)
        if "code=" in page.url:
            break
    assert page.url.endswith("/trace/?code=CT-BRACKET")
    expect(page.locator("main h2").first).to_have_text("wall bracket")
    page.goto(f"{at_bench.url}/labels/")
    page.locator("[name=codes]").fill("BIN1")
    for text in ("CT-BRACKET", "CT-CLAMP-L"):
        bench.scan(text, text)
    assert page.locator("[name=codes]").input_value() == "BIN1\nCT-BRACKET\nCT-CLAMP-L\n"


def test_a_full_parcel_prints_the_next_one_s_label(
    page: Page, at_bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One scan: the parcel is closed, the next begun, its label with the printer, once."""
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    queue = Queue(tmp_path)
    queue.says(**{"job-id": 7})
    label_printing.enter_printer(
        name="Bench", address="ipp://print.example.com/printers/bench", layout="roll-50x25", dpi=203
    )
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    bench = Hands(page)
    bench.scan("CT-CLAMP-L", "picked")
    bench.scanner.scan(CODE["full"])
    expect(page.locator(".said")).to_contain_text("1 label, Bench: with the printer")

    assert page.url.endswith("/pick")
    fresh = Package.objects.get(kit=at_bench.kit, kind="parcel", number=2).place
    [(_, _, file)] = queue.given()
    assert texts(file) == [{fresh.code}]
