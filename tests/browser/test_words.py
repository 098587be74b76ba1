"""What scripts and the record say, put into the language of the page."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from inventory import carriage
from inventory.models import ReturnKind
from kitting import problems, walking
from kitting.plan import ticks
from kitting.views import refusals
from tests.answers import answers
from tests.browser import bench
from tests.tree import TOP

TOLD = """([language, sentences]) => import("/static/inventory/words.js").then(({ told }) =>
    sentences.map((one) => told(one, language)))"""
SCRIPTS = TOP / "inventory/static/inventory"
HOUSES = (TOP / "inventory/static/inventory", TOP / "kitting/static/kitting")
# Scripts that no technician's phone shows anything of: the bench's; and a list of names.
NO_PHONE = {"bench-ring", "shared-walk", "language-switch", "photo-progress"}
LITERAL = re.compile(r'"([A-Z][^"\n]* [^"\n]*)"|`((?:[A-Z]|\$\{\w+\})[^`\n]* [^`\n]*)`')
INSIDE = re.compile(r"\$\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\}")
NOT_SHOWN = re.compile(r"^(done |Content|(X\d[:,]? ?)+\.?$|X0 min$)")  # no words of ours


def sentences() -> set[str]:
    """Every sentence in the phone's scripts, with names put where something varies."""
    found = set()
    for path in (one for house in HOUSES for one in house.glob("*.js")):
        if path.stem in NO_PHONE or path.stem.endswith(("-de", "-es")):
            continue
        text = re.sub(r"^\s*(//|\*|/\*\*).*$", "", path.read_text("utf-8"), flags=re.M)
        for plain, built in LITERAL.findall(text):
            count = iter(range(9))
            found.add(plain or INSIDE.sub(lambda _, n=count: f"X{next(n)}", built))
    return {one for one in found if not NOT_SHOWN.match(one)}


# Whole sentences put together, or words of the tables: "it" and "them", "item" and "items".
PUT_TOGETHER = {
    *("X0X1", "X0 X1", "X0. X1X2", "X0.", "X0 X1.", "X0; bring it back.X1", "X0, as told.X1"),
    "X0Say where it stood: stack and place in the stack.",
    "X0 told as damaged. Keep X1 apart and bring X2 back.",
    *(
        "Used as planned: X0 X1.",
        "X0 Let through by a lead: X1.",
        "X0X1.",
        "(X0) X1: X2.",
        "X0, got X1.",
    ),
    *("X0. X1X2", "X0; bring it back.X1", "X0: X1, at X2.X3", "X0: X1."),
}


# What only a program gets that sends wrong lines, and the bench.
NOBODY = re.compile(r"^(step|hands): expected ")
# Words that neither German nor Spanish has: one of them left says that a sentence is half told.
ENGLISH = re.compile(r"\b(the|expected|got|is|of|and|with|by|from|it)\b", re.IGNORECASE)


@pytest.mark.parametrize("language", ["de", "es"])
def test_every_sentence_of_the_scripts_has_its_words(
    page: Page, live_server, language: str
) -> None:
    """Nothing that a phone says of an act is left in English; names stay where they belong."""
    page.goto(f"{live_server.url}/sign-in")
    small = [f"{one.words[0].lower()}{one.words[1:]}" for one in ticks.TICKS.values()]
    ticked = {f"Ticked: stack 1: {words}.": words for words in small}
    acts = {one for one in answers() if not NOBODY.match(one)} - PUT_TOGETHER
    done = {f"X0: {words}." for words in walking.STEP_WORDS.values()} | {carriage.AT_ONCE}
    back = {f"X0 is set aside as {one}. Do not fit it." for one in ReturnKind.labels}
    done |= {f"It is set aside: {sign}." for sign in problems.SIGNS}
    broke = {refusals.BROKEN.format("X0"), refusals.WORDS[404]}
    asked = sorted(sentences() | acts | done | back | broke | {*ticked})
    told = dict(zip(asked, page.evaluate(TOLD, [language, asked]), strict=True))

    assert len(acts) > 220
    assert [one for one, words in told.items() if one == words or ENGLISH.search(words)] == []
    assert [one for one, words in ticked.items() if words in told[one]] == []
    assert [one for one in problems.SIGNS if one in told[f"It is set aside: {one}."]] == []
    for one, words in told.items():
        assert {*re.findall(r"X\d", one)} == {*re.findall(r"X\d", words)}, one


def test_both_tables_have_the_same_sentences(page: Page, live_server) -> None:
    """With the same things left to fill in; a sentence nobody knows stays as it came."""
    page.goto(f"{live_server.url}/sign-in")
    table = re.compile(r'^  "((?:[^"\\]|\\.)*)": "((?:[^"\\]|\\.)*)",$', re.MULTILINE)
    for kind in ("words", "record", "answers", "readings"):
        de, es = (
            dict(table.findall((SCRIPTS / f"{kind}-{one}.js").read_text("utf-8")))
            for one in ("de", "es")
        )
        assert de.keys() == es.keys()
        assert len(de) > 50
        for english in de:
            slots = sorted(re.findall(r"\{\d\}", english))
            for words in (de[english], es[english]):
                assert sorted(re.findall(r"\{\d\}", words)) == slots, words
    unknown = ["Nothing of the kind.", "", "Undone."]
    assert page.evaluate(TOLD, ["de", unknown]) == [*unknown[:2], "Zurückgenommen."]
    assert page.evaluate(TOLD, ["en", ["Undone."]]) == ["Undone."]


def test_several_sentences_are_told_one_by_one(page: Page, live_server) -> None:
    """What an act says and what was odd with it; somebody's own words stay as they are."""
    page.goto(f"{live_server.url}/sign-in")
    said = {
        "M S1 is a recalled battery, and nobody has decided yet how it is packed and carried (ADR)."
        " Ask the office; they say first that it comes back. The same holds for M S2.": (
            "M S1: eine Batterie, die als „zurückgerufen“ gilt; noch hat niemand entschieden, wie "
            "sie verpackt und befördert wird (ADR). Das Büro fragen; es sagt zuerst, dass sie "
            "zurückkommt. Dasselbe gilt für M S2."
        ),
        "bolt M6 unboxed. Picking was not scanned: bolt M6.": (
            "bolt M6 ausgepackt. Das Kommissionieren wurde nicht gescannt: bolt M6."
        ),
        "The record says otherwise: S1 used. S1 was never received. Here it said: S1 loaded.": (
            "Im Buch steht es anders: S1 verbraucht. S1 ist nie eingegangen. "
            "Hier hieß es: S1 verladen."
        ),
        "7.25 m of cable 3x2.5 used.": "7,25 m cable 3x2.5 verbraucht.",
        "1,200 x bolt M6 used.": "1\u202f200 x bolt M6 verbraucht.",
        "K-1.5 used.": "K-1.5 verbraucht.",
        "Wet by rain. Bring it back.": "Wet by rain. Zurückbringen.",
        "Undone. By whom is not known.": "Undone. By whom is not known.",
    }
    told = page.evaluate(TOLD, ["de", [*said]])
    assert dict(zip(said, told, strict=True)) == said


def test_a_german_phone_speaks_german_until_another_is_chosen(
    chromium: Browser, live_server
) -> None:
    """The page, the verdict at once, and the choice that stays on the phone."""
    served = bench.served(live_server.url)
    context = chromium.new_context(viewport={"width": 390, "height": 844}, locale="de-DE")
    page = context.new_page()
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/J1001/unbox")
    expect(page.locator("h1")).to_have_text("Auspacken")
    expect(page.locator("unsent-badge summary")).to_contain_text("Alles gesendet")
    page.get_by_label("Code eintippen").fill("LBX000001Q")
    page.keyboard.press("Enter")
    expect(page.locator(".verdict strong").first).not_to_have_text("Bereit")
    page.locator("unsent-badge summary").click()
    page.get_by_text("Español").click()
    expect(page.locator("h1")).to_have_text("Desembalar")
    page.goto(f"{served.url}/my/")
    expect(page.locator("h1")).to_have_text("Mis trabajos")
    context.close()
