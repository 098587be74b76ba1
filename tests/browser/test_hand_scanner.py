"""Hand scanners that type: set up on any keyboard, heard anywhere, and nothing left in a field.

The texts are those of published bug reports (wedge_cases.json, each with its thread).
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from inventory.labels import lesson
from inventory.models import Event
from tests.browser.bench import AGAIN, Bench, saved_or_better
from tests.browser.keys import GS, Scanner
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


ANSWERED = "() => document.querySelector('.verdict').dataset.event"
SENTENCE = "document.querySelector('.verdict span').textContent"


def said(page: Page) -> str:
    """The sentence that a person reads now."""
    return page.locator(".verdict:not(.small) span").first.inner_text()


def heard(page: Page, scanner: Scanner, text: str) -> str:
    """Scan until it came whole; on a busy machine a key may come late. What the page says."""
    for _ in range(5):
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
    expect(at_lesson.locator("[data-hints]")).to_contain_text(
        "leaves out the sign between two fields"
    )


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
    return page


def test_published_cases_arrive_as_they_were_typed(pick: Page, at_bench: Bench) -> None:
    """Each text becomes one event of its own, two scans in a row two; no field keeps any."""
    scanner, field, wanted = Scanner(pick), pick.get_by_label("Type a code"), []
    cases = [row for row in vectors("wedge_cases") if len(row["received"]) >= 4]
    assert len(cases) >= 35
    for row in cases:
        texts = [part for part in row["received"].replace("\n", "").split("\r") if part]
        for text in (text.strip("\t") for text in texts):
            for _ in range(5):
                pick.evaluate("delete document.querySelector('.verdict').dataset.event")
                scanner.type(text + ("\t" if "\t" in row["received"] else "\r"))
                try:
                    pick.wait_for_function(ANSWERED, timeout=3_000)
                    break
                except Exception:
                    assert said(pick) == AGAIN, (row["id"], said(pick))
            wanted.append(text)
            assert field.input_value() == "", row["id"]

    assert at_bench.scans("pick") == wanted
    assert set(Event.objects.filter(step="pick").values_list("scan__via", flat=True)) == {"keys"}


def test_half_a_burst_then_typing_leaves_the_typing(pick: Page, at_bench: Bench) -> None:
    """The half is refused aloud and taken out of the field; what the person types stays."""
    scanner, field = Scanner(pick), pick.get_by_label("Type a code")
    scanner.type("CT-BRAC")
    pick.wait_for_timeout(250)
    scanner.type("CT-X", gap=0.15)

    assert (said(pick), field.input_value()) == (AGAIN, "CT-X")
    assert at_bench.scans("pick") == []


def test_a_scan_without_an_end_is_refused_until_learnt(pick: Page, at_bench: Bench) -> None:
    """Nobody can tell whether more was to come: refused aloud, nothing is left in the field."""
    scanner = Scanner(pick)
    scanner.type("CT-BRACKET")
    saved_or_better(pick, "refused")

    assert "sent no Enter" in said(pick)
    assert pick.get_by_label("Type a code").input_value() == ""
    assert at_bench.scans("pick") == []


def test_letters_of_caps_lock_are_never_taken_for_others(pick: Page, at_bench: Bench) -> None:
    """What comes in the other case is kept as it came and moves nothing."""
    Scanner(pick).type(f"010952123400002021sn0001{GS}10l\r")
    pick.wait_for_function(ANSWERED)

    assert at_bench.scans("pick") == [f"010952123400002021sn0001{GS}10l"]
    assert pick.locator("scan-pad > .verdict").get_attribute("data-verdict") not in ("applied",)
