"""Hand scanners that type: set up on any keyboard, heard anywhere, and nothing left in a field.

The texts are those of published bug reports (wedge_cases.json, each with its thread).
"""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import Page, expect

from inventory.codes.layouts import US
from inventory.labels import lesson
from inventory.models import Event, Item, ItemCode
from tests.browser.bench import AGAIN, Bench, all_sent, saved_or_better
from tests.browser.keys import DEAD, GS, STANDS, Scanner
from tests.counts import FULL
from tests.reference.test_codes_vectors import vectors

SHOWN = "\N{SYMBOL FOR GROUP SEPARATOR}"
LABEL = f"010952123400002021ZY-7{GS}10Qa.m1"
WAYS = [
    ("US", "ctrl", "\r"),
    ("DE", "f8", "\r"),
    ("FR", "alt", "\t"),
    ("UK", "{GS}", ""),
    ("DE", "<GS>", "\t"),
    ("FR", "_", "\r"),
]


TAUGHT = {*"".join(lesson.TEXTS), GS}
FIELDS = "input:not([type=radio], [type=checkbox], [type=hidden], [type=file]), textarea"
NOTHING_LEFT = f"[...document.querySelectorAll('{FIELDS}')].map((one) => one.value).join('')"
DIGITS = "09521234000099"  # no letter: Caps Lock changes nothing in it
CAPS_LOCK = """
  const own = KeyboardEvent.prototype.getModifierState;
  KeyboardEvent.prototype.getModifierState = function (name) {
    return name === "CapsLock" || own.call(this, name);
  };
"""
UNTAUGHT = "The scanner sent a sign that its lesson had not. Set it up anew: Menu."
ANSWERED = "() => document.querySelector('.verdict').dataset.event"
SENTENCE = "document.querySelector('.verdict span').textContent"


def said(page: Page) -> str:
    """The sentence that a person reads now."""
    return page.locator(".verdict:not(.small) span").first.inner_text()


def heard(page: Page, scanner: Scanner, text: str) -> str:
    """Scan until it came whole; on a busy machine a key may come late. What the page says.

    What came before has its answer by then: a late one would be taken for this scan's.
    """
    for _ in range(5):
        all_sent(page)
        page.evaluate(f"{SENTENCE} = ''")
        scanner.scan(text)
        page.wait_for_function(f"() => {SENTENCE}")
        if said(page) != AGAIN:
            return said(page)
        page.wait_for_timeout(700)
    raise AssertionError("five scans in a row came torn")


def teach(page: Page, scanner: Scanner) -> None:
    """Scan both printed codes."""
    for text, words in zip(lesson.TEXTS, ("The first code came", "Set up"), strict=True):
        assert heard(page, scanner, text).startswith(words), (vars(scanner), said(page))


@pytest.fixture
def at_lesson(page: Page, at_bench: Bench) -> Page:
    """The page where a scanner is set up."""
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/scanner/")
    return page


def test_a_lesson_undoes_keyboard_and_separator(at_lesson: Page) -> None:
    """Four keyboards, six spellings of the separator, three ends: the label arrives as printed."""
    arrived = at_lesson.locator("[data-arrived]")
    for layout, separator, end in WAYS:
        scanner = Scanner(at_lesson, layout, separator, end)
        teach(at_lesson, scanner)
        whole = said(at_lesson).startswith("Set up. ")
        assert whole == (separator != "_"), (layout, separator, said(at_lesson))
        hints = at_lesson.locator("[data-hints]").inner_text()
        heard(at_lesson, scanner, LABEL)
        expect(arrived).to_have_text(LABEL.replace(GS, SHOWN))
        assert ("keyboard is German" in hints) == (layout == "DE")
        assert ("keyboard is French" in hints) == (layout == "FR")
        assert ("Set it to send Enter" in hints) == (end == "")
        assert ("may hold that sign too" in hints) == (separator == "_")
        at_lesson.get_by_role("button", name="Forget this scanner").click()
        expect(at_lesson.locator(".verdict span")).to_contain_text("Forgotten")


def test_what_cannot_be_put_right_is_named(at_lesson: Page) -> None:
    """A lost separator gets a hint; another code, or one short of a sign, teaches nothing."""
    scanner = Scanner(at_lesson, separator="lost")
    for text in ("LBU0000077", lesson.TEXTS[0].replace("K", "")):
        assert heard(at_lesson, scanner, text).startswith("That is not the first code")
    shouted = heard(at_lesson, Scanner(at_lesson), lesson.TEXTS[0].swapcase())
    assert shouted.startswith("Caps Lock is on")
    at_lesson.reload()
    assert at_lesson.locator("[data-known]").is_hidden()
    teach(at_lesson, scanner)
    assert said(at_lesson).startswith("Set up as far as can be")
    hints = at_lesson.locator("[data-hints]")
    expect(hints).to_contain_text("leaves out the sign between two fields")
    at_lesson.evaluate("window.print = () => document.body.setAttribute('data-printed', '')")
    at_lesson.get_by_role("button", name="Print what to change").click()
    expect(at_lesson.locator("body")).to_have_attribute("data-printed", "")
    at_lesson.emulate_media(media="print")
    assert hints.is_visible()
    assert not [one for one in at_lesson.get_by_role("button").all() if one.is_visible()]
    assert not at_lesson.locator(".lesson").first.is_visible()
    at_lesson.emulate_media(media="screen")
    at_lesson.get_by_role("button", name="Forget this scanner").click()
    expect(at_lesson.locator(".verdict span")).to_contain_text("Forgotten")
    teach(at_lesson, Scanner(at_lesson))
    expect(at_lesson.get_by_role("button", name="Print what to change")).to_be_hidden()


def test_what_was_learnt_goes_with_every_scan(at_lesson: Page, at_bench: Bench) -> None:
    """On a German keyboard an own label with Z and Y arrives as printed, as of a scanner set up."""
    scanner = Scanner(at_lesson, "DE", "f8")
    teach(at_lesson, scanner)
    at_lesson.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    field = at_lesson.get_by_label("Type a code")
    field.focus()
    for text in ("CT-BRACKET", f"010952123400002010LZY{GS}17270101"):
        scanner.scan(text)
        at_lesson.wait_for_function(ANSWERED)
        at_lesson.evaluate("delete document.querySelector('.verdict').dataset.event")
        assert field.input_value() == ""

    events = Event.objects.filter(step="pick").order_by("number")
    assert [(one.scan.text, one.scan.via) for one in events] == [
        ("CT-BRACKET", "paired"),
        (f"010952123400002010LZY{GS}17270101", "paired"),
    ]


@pytest.fixture
def pick(page: Page, at_bench: Bench) -> Page:
    """The pick page, with the focus in its field."""
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    page.get_by_label("Type a code").focus()
    page.evaluate(STANDS)
    return page


def test_published_cases_arrive_as_they_were_typed(pick: Page, at_bench: Bench) -> None:
    """Each text becomes one event of its own, two scans in a row two; no field keeps any."""
    scanner, wanted = Scanner(pick), []
    cases = [row for row in vectors("wedge_cases") if len(row["received"]) >= 4]
    assert len(cases) >= 35
    for row in cases:
        texts = [part for part in row["received"].replace("\n", "").split("\r") if part]
        for text in (text.strip("\t") for text in texts):
            for _ in range(5):
                pick.evaluate("delete document.querySelector('.verdict').dataset.event")
                pick.evaluate(f"{SENTENCE} = ''")
                scanner.type(text + ("\t" if "\t" in row["received"] else "\r"))
                pick.wait_for_function(f"() => ({ANSWERED})() || {SENTENCE} === '{AGAIN}'")
                if pick.evaluate(ANSWERED):
                    break
                pick.wait_for_timeout(700)
            wanted.append(text)
            assert pick.evaluate(NOTHING_LEFT) == "", row["id"]

    assert at_bench.scans("pick") == wanted
    assert set(Event.objects.filter(step="pick").values_list("scan__via", flat=True)) == {"keys"}


def test_published_cases_arrive_on_other_keyboards_too(at_lesson: Page, at_bench: Bench) -> None:
    """German, French and British keys, the scanner set to US ones: as printed, or refused aloud."""
    page, wanted = at_lesson, []
    texts = [text for row in vectors("wedge_cases") for text in row["received"].split()]
    texts = [text for text in texts if len(text) >= 4 and set(text) <= {*US, GS, *"{}|]^"}]
    assert len(texts) >= 30
    hosts = ("DE", "FR", "UK")
    for host, layout in enumerate(hosts):
        page.goto(f"{at_bench.url}/scanner/")
        scanner = Scanner(page, layout, "f8")
        teach(page, scanner)
        page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
        for text in texts if FULL else texts[host :: len(hosts)]:
            told = heard(page, scanner, text)
            assert page.evaluate(NOTHING_LEFT) == "", (layout, text)
            if set(text) <= TAUGHT:
                wanted.append(text)
                page.wait_for_function(ANSWERED)
                page.evaluate("delete document.querySelector('.verdict').dataset.event")
            else:
                assert told == UNTAUGHT, (layout, text, told)
    all_sent(page)

    events = Event.objects.filter(step="pick").order_by("number").values_list
    assert list(events("scan__text", "scan__via")) == [(text, "paired") for text in wanted]


def test_a_dead_key_amid_a_scan_is_refused_aloud(pick: Page, at_bench: Bench) -> None:
    """An accent waits for its letter and may swallow it: what is left is not what was printed."""
    scanner = Scanner(pick)
    for text in (f"CT-{DEAD}BRAC", f"{DEAD})>061PABC-1SSN0001", f"CT-BRAC{DEAD}"):
        pick.evaluate(f"{SENTENCE} = ''")
        scanner.type(f"{text}\r")
        pick.wait_for_function(f"() => {SENTENCE}")
        assert (said(pick), pick.evaluate(NOTHING_LEFT)) == (UNTAUGHT, ""), text
        pick.wait_for_timeout(700)

    assert at_bench.scans("pick") == []


def test_half_a_burst_then_typing_leaves_the_typing(pick: Page, at_bench: Bench) -> None:
    """The half is refused aloud and taken out of the field; what the person types stays."""
    scanner, field = Scanner(pick), pick.get_by_label("Type a code")
    scanner.type("CT-BRAC")
    pick.wait_for_timeout(250)
    scanner.type("CT-X", gap=0.15)

    assert (said(pick), field.input_value()) == (AGAIN, "CT-X")
    assert at_bench.scans("pick") == []


def test_what_a_stalled_machine_tore_never_counts(pick: Page, at_bench: Bench) -> None:
    """However little came before the stall, and whatever the rest reads as: both are refused.

    Two signs alone may be a person's: those stay in the field.
    """
    scanner = Scanner(pick)
    for before, stall, left in (("CT-CLA", 0.9, ""), ("01", 0.8, "01")):
        pick.evaluate(f"{SENTENCE} = ''")
        scanner.type(before)
        scanner.rest(stall)
        scanner.on("CT-BRACKET\r")
        pick.wait_for_function(f"() => {SENTENCE} === '{AGAIN}'")
        pick.wait_for_timeout(700)
        assert pick.get_by_label("Type a code").input_value() == left
        assert at_bench.scans("pick") == []

    heard(pick, scanner, "CT-BRACKET")
    all_sent(pick)
    assert at_bench.scans("pick") == ["CT-BRACKET"]


def test_a_code_begun_before_the_page_could_hear_never_counts(pick: Page, at_bench: Bench) -> None:
    """Scanned while a page comes: what the new page hears of it is no code."""
    scanner, text = Scanner(pick), "A1B2C3D4E5" * 8
    for _ in range(3):
        pick.evaluate("() => void setTimeout(() => location.reload())")
        for sign in text:
            scanner.type(sign)
            time.sleep(0.006)
        scanner.type("\r")
        pick.wait_for_timeout(700)
    heard(pick, scanner, "CT-BRACKET")
    all_sent(pick)

    assert {*at_bench.scans("pick")} <= {text, "CT-BRACKET"}


FROM_WHEN = """
  const own = performance.now;
  performance.now = function () {
    const now = own.call(performance);
    if (/\\/scan\\.(\\w+\\.)?js/.test(new Error().stack)) window.heardFrom ??= now;
    return now;
  };
"""


def test_what_comes_right_after_a_page_may_be_half_a_code(pick: Page, at_bench: Bench) -> None:
    """Within 150 ms of the first hearing it is refused, whole as it looks; later it is not."""
    pick.add_init_script(FROM_WHEN)
    for after, scans in ((60, []), (240, ["CT-BRACKET"])):
        pick.reload()
        began = pick.evaluate("performance.timeOrigin + window.heardFrom") / 1000
        pick.evaluate(f"{SENTENCE} = ''")
        scanner = Scanner(pick)
        scanner.now = began + after / 1000
        scanner.on("CT-BRACKET\r")
        pick.wait_for_function(f"() => {SENTENCE}")
        assert (said(pick) == AGAIN) == (not scans), said(pick)
        all_sent(pick)
        assert at_bench.scans("pick") == scans


def test_a_scan_without_an_end_is_refused_until_learnt(pick: Page, at_bench: Bench) -> None:
    """Nobody can tell whether more was to come: refused aloud, nothing is left in the field."""
    scanner = Scanner(pick)
    scanner.type("CT-BRACKET")
    saved_or_better(pick, "refused")

    assert "sent no Enter" in said(pick)
    assert pick.get_by_label("Type a code").input_value() == ""
    assert at_bench.scans("pick") == []


def test_letters_of_caps_lock_are_never_taken_for_others(pick: Page, at_bench: Bench) -> None:
    """Where nothing tells that it was on, what came is kept as it came and moves nothing."""
    Scanner(pick).type(f"010952123400002021sn0001{GS}10l\r")
    pick.wait_for_function(ANSWERED)

    assert at_bench.scans("pick") == [f"010952123400002021sn0001{GS}10l"]
    assert pick.locator("scan-pad > .verdict").get_attribute("data-verdict") not in ("applied",)


@pytest.mark.parametrize("told", ["by Shift", "by the browser"])
def test_caps_lock_switched_on_later_is_refused_aloud(
    page: Page, at_bench: Bench, told: str
) -> None:
    """Shift that gives a small letter, or the browser's own word where no Shift is in the code.

    No protocol switches it on in a browser without a screen: that word is put in its place.
    """
    by_shift = told == "by Shift"
    if not by_shift:
        page.add_init_script(CAPS_LOCK)
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    ItemCode.objects.create(item=Item.objects.get(code="CT-BRACKET"), key=DIGITS, text=DIGITS)
    scanner = Scanner(page)
    scanner.caps = True
    assert heard(page, scanner, "CT-BRACKET" if by_shift else "sn-a1").startswith("Caps Lock is on")
    assert page.evaluate(NOTHING_LEFT) == ""
    heard(page, scanner, DIGITS)
    expect(page.locator("scan-pad > .verdict span")).to_contain_text("wall bracket picked")
    all_sent(page)
    scanner.caps = False
    if by_shift:
        heard(page, scanner, "CT-BRACKET")
        all_sent(page)
    assert at_bench.scans("pick") == [DIGITS, "CT-BRACKET"][: 1 + by_shift]


def test_two_codes_without_an_end_are_never_one(at_lesson: Page, at_bench: Bench) -> None:
    """Closer together than the lesson's pause allows: both are refused aloud, then one is taken."""
    scanner = Scanner(at_lesson, end="")
    teach(at_lesson, scanner)
    at_lesson.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    scanner.type("CT-BRACKET")
    scanner.rest(0.06)
    scanner.on("CT-CLAMP-L")
    at_lesson.wait_for_function(f"() => {SENTENCE} === '{AGAIN}'")
    at_lesson.wait_for_timeout(700)
    assert (said(at_lesson), at_lesson.evaluate(NOTHING_LEFT)) == (AGAIN, "")
    assert at_bench.scans("pick") == []

    heard(at_lesson, scanner, "CT-BRACKET")
    all_sent(at_lesson)
    assert at_bench.scans("pick") == ["CT-BRACKET"]


def test_a_lesson_reaches_the_pages_that_are_open(at_lesson: Page, at_bench: Bench) -> None:
    """A page opened before it was taught goes by it at once, and by its end too."""
    other = at_lesson.context.new_page()
    other.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    at_lesson.bring_to_front()
    teach(at_lesson, Scanner(at_lesson, "DE", "f8"))
    other.bring_to_front()
    text = f"010952123400002010LZY{GS}17270101"
    heard(other, Scanner(other, "DE", "f8"), text)
    expect(other.locator("scan-pad > .verdict")).to_have_attribute("data-event", re.compile("."))

    scan = Event.objects.get(step="pick").scan
    assert (scan.text, scan.via) == (text, "paired")
