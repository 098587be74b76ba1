"""What a technician reads is in the phone's language; every word has its German and Spanish."""

import ast
import gettext
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import translation
from django.utils.translation import trans_real

from inventory import once, password_forms
from inventory.api_errors import TITLES
from inventory.models import Finding, Item, Person
from inventory.plain_forms import KINDS
from inventory.templatetags import amounts
from kitting import (
    bench_forms,
    bus_measuring,
    day_steps,
    drawing,
    overviews,
    problems,
    screens,
    sparing,
    ticking,
)
from kitting.models import JobKind
from kitting.plan import configuration, kit, lookup, telling, ticks, why_not
from kitting.plan.figure import caution
from kitting.printing import handover, laid, said, site, torque
from kitting.reason_words import REASONS
from kitting.sentences import FROM_WHERE, SENTENCES
from kitting.speaking import told, told_why
from kitting.templatetags import ways
from kitting.views import refusals
from tests.answers import findings
from tests.kitting.yard import Yard
from tests.plan import shipped
from tests.stretched import Stretched, catalogue
from tests.tree import TOP, parsed, sources

PAGES = TOP / "templates"
LANGUAGES = ("de", "es")
# What a phone's page includes and yet is the office's own: kept in English.
OFFICE = {"kitting/parts/lead.html", "inventory/parts/two_claims.html"}
# What a technician gets beside the pages of the day, and a stranger.
BESIDE = {
    *(f"kitting/{name}.html" for name in ("sites", "site", "site_describe", "site_found")),
    *(f"kitting/{name}.html" for name in ("kit_why", "bench", "job_drawing", "refused")),
    *(f"inventory/{name}.html" for name in ("scanner", "sign_in", "own_sign_in", "no_signal")),
    "kitting/parts/asked.html",
}
INCLUDED = re.compile(r'\{% include "([^"]+)"')
WORDS = re.compile(r"[^\W\d_]{2,}")
ATTRIBUTES = re.compile(r'\b(?:aria-label|placeholder|title|alt|ready|then|data-lacks)="([^"{]*)"')
TRANSLATED = re.compile(
    r"""\{% translate (?:"([^"]*)"|'([^']*)') %\}|_\("([^"]*)"\)"""
    r"|\{% blocktranslate[^}]*?(?:\}[^%}][^}]*?)*?%\}(.*?)\{% endblocktranslate %\}",
    re.DOTALL,
)
SHELL = re.compile(
    r"\{% block shell %\}.*?\{% endblock %\}|<span class=\"code\">[^<{]*</span>"
)  # commands
NAMES = {
    "Lastbolt",
    "English",
    "Deutsch",
    "Español",
    "mm",
}  # names and signs are the same in all languages
CAUTIONS = [*lookup.table("cautions").rows, screens.CAUTION, bus_measuring.CAUTION]
SAID_BY_CODE = [
    *SENTENCES,
    *map(str, JobKind.labels),
    *map(str, Finding.Kind.labels),
    overviews.BREAKS,
    *re.findall(r'Readiness\(\s*"([^"]+)"', (TOP / "kitting/overviews.py").read_text("utf-8")),
    *problems.SIGNS,
    *(step.words for step in day_steps.STEPS),
    *(tick.words for tick in ticks.TICKS.values()),
    *ticking.WHY_NOT,
    *(sparing.TITLE, sparing.TASK),
    *(row[key] for row in CAUTIONS for key in ("words", "decides")),
    *(*drawing.NAMES.values(), *drawing.WORDS.values(), *drawing.OF_SITE.values()),
    *("of", "nowhere yet"),  # inventory/templatetags/amounts.py
    *(*FROM_WHERE.values(), "a reel", *REASONS),
    *(words for form in bench_forms.FORMS for words in (form.title, *caution(form.figure))),
    *(str(field.label) for form in bench_forms.FORMS for field in form.base_fields.values()),
    *(
        str(words)
        for form in bench_forms.FORMS
        for field in form.base_fields.values()
        for _, words in getattr(field, "choices", ())
        if re.search(r"[a-z]{3}", str(words))
    ),
    *(kind for _, kind in KINDS),
    *(*(TITLES[status] for status in refusals.WORDS), *refusals.WORDS.values(), refusals.STALE),
    *(password_forms.WRONG, once.TWICE, once.OTHERWISE),
    *(
        str(word)
        for name, *rows in ways.GROUPS
        for who, _, words in rows
        if ways.CREW in who
        for word in (name, words)
    ),
]


# Whole sentences that code puts together; each is in kitting/sentences.py as it is then.
PUT_TOGETHER = {
    *("Code X0: X1.", "X0 (X1) is not on the screen.", "X0 It was stopped: X1."),
    *("X0 damagedX1.", "X0. It is in X1: take it out.", "X0: X1.", "X0 X1.", "X0.", ""),
    "X0: X1. X2",
}
PLAIN_LETTERS = re.compile(r"[A-Za-z]{2,}")


def printed() -> set[str]:
    """What the papers say, and why something is on a list or not: what `say` is given there."""
    calls = [
        call
        for file in (*sources("kitting/printing"), *sources("kitting/plan"))
        for call in ast.walk(parsed(file))
        if isinstance(call, ast.Call)
        and getattr(call.func, "id", getattr(call.func, "attr", "")) == "say"
    ]
    given = [call.args[0].value for call in calls if isinstance(call.args[0], ast.Constant)]
    tables = (*handover.TESTS, (handover.DECIDES, handover.FIRST), laid.HEAD)
    named = {word for row in tables for word in row if len(word) > 1}
    named |= {why_not.NOT_IT, why_not.NONE_OF_THEM, why_not.BESIDE}
    named |= {site.FIRST, said.CANCELLED, torque.BEARS, *torque.TIGHTENED.values()}
    return {*given} | named


def phone_pages() -> set[str]:
    """Templates of a technician's pages, with all that they include."""
    found = {path.relative_to(PAGES).as_posix() for path in PAGES.glob("kitting/my_*.html")}
    found |= {"base.html", "kitting/parts/following.html"} | BESIDE
    fresh = set(found)
    while fresh:
        texts = [(PAGES / name).read_text(encoding="utf-8") for name in fresh]
        fresh = {name for text in texts for name in INCLUDED.findall(text)} - found - OFFICE
        found |= fresh
    return found


def messages(text: str) -> Iterator[str]:
    """What a template gives to the translation, as the catalogue has it."""
    for short, quoted, filtered, block in TRANSLATED.findall(text):
        if block:
            for one in block.split("{% plural %}"):
                words = " ".join(one.split()).replace("%", "%%")
                yield re.sub(r"\{\{ (\w+) \}\}", r"%(\1)s", words)
        else:
            yield short or quoted or filtered


@pytest.mark.parametrize("name", sorted(phone_pages()))
def test_no_word_of_a_phone_s_page_goes_past_the_translation(name: str) -> None:
    """In a pseudo-language each translated word is in brackets; what stands outside is a fault."""
    text = (PAGES / name).read_text(encoding="utf-8")
    bracketed = SHELL.sub("", TRANSLATED.sub("", re.sub(r"\{#.*?#\}", "", text)))
    attributes = " ".join(ATTRIBUTES.findall(bracketed))
    plain = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "", bracketed, flags=re.DOTALL)
    plain = unescape(re.sub(r"<[^>]*>", " ", plain))

    assert set(WORDS.findall(f"{plain} {attributes}")) - NAMES <= set(), name


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_has_its_translation(language: str) -> None:
    """None is missing, empty, left in English by the sentence, or of a place that is gone."""
    pages = {path: path.read_text(encoding="utf-8") for path in PAGES.rglob("*.html")}
    asked = (
        {words for text in pages.values() for words in messages(text)} | {*SAID_BY_CODE} | printed()
    )
    known = catalogue(language)

    assert len(asked) > 250
    assert asked - {*known} == set()
    assert {*known} - asked == set()
    assert [words for words, own in known.items() if not own] == []
    slots = re.compile(r"%\(\w+\)s")
    assert [
        words for words, own in known.items() if {*slots.findall(words)} != {*slots.findall(own)}
    ] == []
    same = [words for words, own in known.items() if own == words and len(words.split()) > 2]
    assert same == []


def test_a_problem_of_a_kit_is_told_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is found on the way or answers it: nothing of it is left in plain letters."""
    monkeypatch.setitem(trans_real._translations, "de", Stretched())
    with translation.override("de"):
        said = {words: told(words) for words in findings() if words not in PUT_TOGETHER}

    assert len(said) > 55
    assert [words for words, own in said.items() if PLAIN_LETTERS.search(own)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_read_at_run_time_is_what_people_wrote(language: str) -> None:
    """The compiled file is made anew with each change: `make words`."""
    path = Path(f"kitting/locale/{language}/LC_MESSAGES/django.mo")
    with (TOP / path).open("rb") as file:
        compiled = gettext.GNUTranslations(file)

    single = {words: own for words, own in catalogue(language).items() if "line" not in words}
    assert {words: compiled.gettext(words) for words in single} == single
    assert compiled.ngettext("%(n)s line", "%(n)s lines", 2) == catalogue(language)["%(n)s lines"]


@pytest.mark.parametrize(
    ("asked", "chosen", "language", "words"),
    [
        ("de-AT,de;q=0.9", "", "de", "Meine Aufträge"),
        ("es-MX,es;q=0.8", "", "es", "Mis trabajos"),
        ("fr", "", "en", "My jobs"),
        ("", "", "en", "My jobs"),
        ("de", "es", "es", "Mis trabajos"),
        ("de", "en-gb", "en", "My jobs"),
        ("de", "xx", "de", "Meine Aufträge"),
    ],
)
def test_a_technician_s_page_speaks_the_phone_s_language(
    client: Client, yard: Yard, asked: str, chosen: str, language: str, words: str
) -> None:
    """What the phone asks for, unless a person chose on it; what nobody wrote is English."""
    client.force_login(Person.objects.get(username="tariq"))
    if chosen:
        client.cookies["lastbolt_language"] = chosen
    answer = client.get(reverse("my_jobs"), headers={"accept-language": asked})

    html = answer.content.decode()
    assert f'<html lang="{language}">' in html
    assert f"<h1>{words}</h1>" in html
    assert "Accept-Language" in answer.headers["Vary"]


@pytest.mark.parametrize(
    ("name", "roles", "route", "language"),
    [
        ("mona", ["manager"], "week", "en"),
        ("mona", ["manager"], "sites", "en"),
        ("tariq", ["technician"], "bench", "de"),
        ("tariq", ["technician"], "sites", "de"),
        ("tariq", ["technician"], "stock", "de"),  # refused
        ("tariq", ["manager", "technician"], "sites", "en"),
        ("tariq", ["manager", "technician"], "my_jobs", "de"),
        ("", [], "sign_in", "de"),
        ("", [], "no_signal", "de"),
    ],
)
def test_a_page_is_in_one_language(
    client: Client, yard: Yard, name: str, roles: list[str], route: str, language: str
) -> None:
    """Half a page in another language would be worse than none: the office's are English, and so
    are all but the day's of who fits and works in the office too."""
    if name:
        Person.objects.filter(username=name).update(roles=roles)
        client.force_login(Person.objects.get(username=name))
    html = client.get(reverse(route), headers={"accept-language": "de"}).content.decode()

    assert f'<html lang="{language}">' in html
    assert ("Zum Inhalt" in html) == (language == "de")
    assert ("Language" in html) == (name == "tariq" and language == "en")


@pytest.mark.parametrize("address", ["/api/jobs", "/api/signed-in"])
def test_scripts_get_english(client: Client, yard: Yard, address: str) -> None:
    """What a script reads is put into the language in the browser."""
    answer = client.get(address, headers={"accept-language": "de"})
    client.force_login(Person.objects.get(username="tariq"))
    own = client.get(address, headers={"accept-language": "de"})

    assert "Anmeldedaten" not in answer.content.decode()
    assert "Accept-Language" not in own.headers.get("Vary", "")


# Figures: a comma, digits in threes with a space between: resolution 10 of the 22nd CGPM (2003).
@pytest.mark.parametrize(
    ("language", "sentence", "words"),
    [
        ("de", "1.3 m of data cable", "1,3 m data cable"),
        ("es", "1.3 m of data cable", "1,3 m de data cable"),
        ("de", "1,250", "1\u202f250"),
        ("de", "Module, stack 1, place 2: fitted, AB12", "Modul, Turm 1, Platz 2: eingebaut, AB12"),
        ("de", "ferrule 4: 9 needed, 2 here", "ferrule 4: 9 gebraucht, 2 hier"),
        ("de", "a sentence nobody wrote", "a sentence nobody wrote"),
        ("en-gb", "1.3 m of data cable", "1.3 m of data cable"),
        ("en-gb", "1,250", "1,250"),
    ],
)
def test_what_code_puts_together_is_said_in_the_language(
    language: str, sentence: str, words: str
) -> None:
    """Its parts too; names and serials stay as they are."""
    with translation.override(language):
        assert told(sentence) == words


@pytest.mark.parametrize(
    ("language", "sum_", "words"),
    [
        ("de", "4 modules + 1 = 5 joints", "4 Module + 1 = 5 Verbindungen"),
        ("es", "1 modules = 1 joints", "1 módulos = 1 uniones"),
        ("de", "4 M20 holes - 3 used = 1", "4 M20 Löcher - 3 benutzt = 1"),
        (
            "de",
            "the parts list has 12 for 4 modules and stud pitch 400",
            "die Teileliste hat 12 für 4 Module und Ständerabstand 400",
        ),
        (
            "es",
            "diameter 12.5 mm lies in 8 to 13 mm of clip",
            "diámetro 12.5 mm está entre 8 y 13 mm de clip",
        ),
        ("de", "2 x 4 anchor = 8", "2 x 4 anchor = 8"),
    ],
)
def test_the_sum_behind_a_number_is_said_in_the_language(
    language: str, sum_: str, words: str
) -> None:
    """Its counts and measures; names of things stay as the parts list has them."""
    with translation.override(language):
        assert told_why(sum_) == words


@pytest.mark.parametrize("name", shipped.NAMES)
def test_every_sum_of_a_shipped_list_is_said(name: str) -> None:
    """What is left in English are names of the list: its things and its questions."""
    family = shipped.edition(name)
    own = [item.name for item in family.items.values()] + [*family.axes]
    own += [value for axis in family.axes.values() for value in axis.values]
    own_words = re.compile("|".join(map(re.escape, sorted(own, key=len, reverse=True))))
    asked = [configuration.parse(dict(one), family) for one in [*shipped.hand(name).values()][::4]]
    sums = {
        part
        for one in asked
        for line in kit.work_out(family, one).lines
        for reason in line.reasons
        for part in telling.how(reason).split("; ")
        # "colour light: front, light" is a table of the list by the names of its columns.
        if re.search(r"[a-z]{3}", own_words.sub("", part)) and ": " not in part
    }

    assert len(sums) > 30
    with translation.override("de"):
        assert {one for one in sums if told_why(one) == one} == set()


def test_a_quantity_is_written_as_it_is_typed_there() -> None:
    """7.25 m on an English page is 7,25 m on a German one, with nothing between it and the name."""
    item = Item(name="data cable", unit="mm")
    with translation.override("de"):
        assert amounts.of_item(7250, item) == "7,25 m data cable"
        assert amounts.amount(1250, "piece") == "1\u202f250"
    with translation.override("es"):
        assert amounts.of_item(7250, item) == "7,25 m de data cable"
    assert amounts.of_item(7250, item) == "7.25 m of data cable"


@pytest.mark.parametrize(
    ("sentence", "words"),
    [
        ("7.25 m", "7,25 m"),
        ("1,200", "1\u202f200"),
        ("1,200 x bolt M6", "1\u202f200 x bolt M6"),
        (
            "Count cable 3x2.5 at A1: the book had 0.5 m, the hand took 7.25 m.",
            "cable 3x2.5 bei A1 zählen: laut Buch waren es 0,5 m, entnommen wurden 7,25 m.",
        ),
        ("cable 3x2.5", "cable 3x2.5"),  # the name of a thing stays as it was entered
        ("2.5 mm cable", "2.5 mm cable"),
    ],
)
def test_a_figure_in_a_sentence_has_the_marks_of_the_language(sentence: str, words: str) -> None:
    """What opens a slot, or is all of it; figures inside names are names."""
    with translation.override("de"):
        assert told(sentence) == words
