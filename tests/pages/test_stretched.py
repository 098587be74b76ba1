"""Every page that a technician gets in a made-up language: no English sentence is left.

Which these are, tests/cast.csv says, and what somebody reads who has not signed in. What stands
there in plain letters has to be what somebody entered: names, codes, a parts list. What is marked
as English is left out; the count of such marks is held.
"""

import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import dates, translation
from django.utils.translation import trans_real

from inventory.models import Item, Notice, Person, Place, Unit
from kitting import families
from kitting.models import FamilyEdition, Job, Kit, Site, Whereabouts
from kitting.templatetags import ways
from tests.kitting.test_speaking import NAMES
from tests.people import Cast
from tests.stretched import Stretched
from tests.test_cast import ROWS, address

PAGES = [
    row
    for row in ROWS
    if row["method"] == "GET" and row["technician"] == "200" and not row["route"].startswith("api_")
]
PAPERS = {"job_site_sheet", "job_hand_over", "scanner_sheet"}  # drawn by pages of their own
ASKED = {  # what a page is asked beside its address
    "site_describe": "?family=tower",
    "kit_why": "?item=CT-BOLT6",
    "bench": "?ask=gland&cable_od_mm=7",
}
GERMAN = {"accept-language": "de"}
SPOKEN = ("aria-label", "alt", "title", "placeholder", "data-lacks")
ENGLISH = re.compile(r"\b[A-Za-z]{2,}\b")
ENTERED = (
    *((Item, "code"), (Item, "name"), (Place, "code"), (Place, "name"), (Person, "name")),
    *(
        (Unit, "serial"),
        (Job, "code"),
        (Kit, "code"),
        (Site, "name"),
        (Site, "address"),
        (Notice, "code"),
    ),
    *((Notice, "words"), (Whereabouts, "words")),
)
# Where a rule was published.
IN_ENGLISH = {"kit_why", "bench"}
SPELT = {"own_second_factor"}  # a key to be typed letter by letter


class Said(HTMLParser):
    """What a person reads or hears of a page, piece by piece; what is marked English left out."""

    def __init__(self, html: str) -> None:
        """html: one document."""
        super().__init__()
        self.pieces: list[str] = []
        self.marked = self.spelt = 0
        self._closing: list[str] = []  # of what is left out, the open elements
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what an element says by its attributes."""
        english = ("lang", "en") in attrs and tag != "label"
        self.marked += english
        spelt = ("translate", "no") in attrs  # letters that are no word
        self.spelt += spelt
        if self._closing or english or spelt or tag in ("script", "style"):
            if tag not in ("input", "img", "br", "path", "rect", "use"):
                self._closing.append(tag)
            return
        self.pieces += [value for name, value in attrs if name in SPOKEN and value]

    def handle_endtag(self, tag: str) -> None:
        """Elements end in the order they began."""
        if self._closing and self._closing[-1] == tag:
            self._closing.pop()

    def handle_data(self, data: str) -> None:
        """Keep text."""
        if not self._closing:
            self.pieces.append(data)


def entered() -> Iterator[str]:
    """All that people gave names to, and what a parts list calls its steps and tasks."""
    for model, column in ENTERED:
        yield from model.objects.values_list(column, flat=True)
    for edition in FamilyEdition.objects.all():
        family = families.family_of(edition)
        yield family.title
        for step in family.steps:
            yield from (step.title, *step.tasks)
        for rule in family.rules:
            yield from (*rule.of, rule.name)
        for item in family.items.values():
            yield from item.lies.values()
        for axis in family.axes.values():
            yield from (axis.name, axis.plain, *axis.values)
    with translation.override("de"):
        for names in (dates.MONTHS, dates.MONTHS_3, dates.WEEKDAYS):
            yield from map(str, names.values())


@pytest.fixture
def stretched(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """German is the made-up language; nothing that was kept from other tests is shown."""
    monkeypatch.setitem(trans_real._translations, "de", Stretched())
    monkeypatch.setattr(ways, "_drawn", ways._drawn.__wrapped__)


def pages(cast: Cast) -> Iterator[tuple[str, str]]:
    """Name and text of each page that a technician gets, and of those that a stranger gets."""
    for row in PAGES:
        name = row["route"]
        if name not in PAPERS:
            where = address(cast, name, "technician", row["object"]) + ASKED.get(name, "")
            answer = cast.clients["technician"].get(where, headers=GERMAN)
            assert answer.status_code == 200, name
            if answer.headers["Content-Type"].startswith("text/html"):
                yield name, answer.content.decode()
    yield "refused", cast.clients["technician"].get("/stock/", headers=GERMAN).content.decode()
    for name in ("sign_in", "no_signal"):
        yield f"stranger {name}", Client().get(reverse(name), headers=GERMAN).content.decode()
    wrong = Client().post(reverse("sign_in"), {"username": "tariq"}, headers=GERMAN)
    yield "stranger sign_in", wrong.content.decode()


def english_left(
    pages: Iterable[tuple[str, str]], others: Iterable[str] = ()
) -> dict[str, set[str]]:
    """What is left in plain letters and nobody entered, nor others did -> names of the pages."""
    known = sorted({one for one in (*entered(), *others) if one}, key=len, reverse=True)
    own = re.compile(rf"\b(?:{'|'.join(map(re.escape, known))})", re.IGNORECASE)
    left: dict[str, set[str]] = {}
    for name, html in pages:
        for piece in Said(html).pieces:
            if {*ENGLISH.findall(own.sub("", piece))} - NAMES:
                left.setdefault(" ".join(piece.split()), set()).add(name)
    return left


@pytest.mark.usefixtures("stretched")
def test_no_english_sentence_is_left_on_a_technician_s_page(db: None, cast: Cast) -> None:
    """Every page of a technician's day with things on it, and all others that are open to one."""
    found = [*pages(cast)]
    said = {name: Said(html) for name, html in found}
    assert all(len(one.pieces) > 12 for one in said.values())
    left = english_left(found)

    assert left == {}, "\n".join(left)
    assert len(said) > 22
    assert {name for name, one in said.items() if one.marked} == IN_ENGLISH
    assert {name for name, one in said.items() if one.spelt} == SPELT
