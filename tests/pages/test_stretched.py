"""Every page of a technician's phone in a made-up language: no English sentence is left.

What stands there in plain letters has to be what somebody entered: names, codes, a parts list. What
is marked as English is left out; the count of such marks is held.
"""

import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser

import pytest
from django.urls import get_resolver
from django.utils import dates, translation
from django.utils.translation import trans_real

from inventory.models import Item, Notice, Person, Place, Unit
from kitting import families
from kitting.models import FamilyEdition, Job, Kit, Site, Whereabouts
from kitting.templatetags import ways
from tests.kitting.test_speaking import NAMES
from tests.pages.test_every_page import address
from tests.people import Cast
from tests.stretched import Stretched

PHONE = [name for name in map(str, get_resolver().reverse_dict) if name.startswith("my_")]
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
# The workings behind a number of the list: as the office reads them, and a country's rules.
IN_ENGLISH = {"my_job"}


class Said(HTMLParser):
    """What a person reads or hears of a page, piece by piece; what is marked English left out."""

    def __init__(self, html: str) -> None:
        """html: one document."""
        super().__init__()
        self.pieces: list[str] = []
        self.marked = 0
        self._closing: list[str] = []  # of what is left out, the open elements
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what an element says by its attributes."""
        english = ("lang", "en") in attrs and tag != "label"
        self.marked += english
        if self._closing or english or tag in ("script", "style"):
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
        for step in family.steps:
            yield from (step.title, *step.tasks)
        for item in family.items.values():
            yield from item.lies.values()
        for axis in family.axes.values():
            yield from (axis.plain, *axis.values)
    with translation.override("de"):
        for names in (dates.MONTHS, dates.MONTHS_3, dates.WEEKDAYS):
            yield from map(str, names.values())


@pytest.fixture
def page_of(db: None, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], str]:
    monkeypatch.setitem(trans_real._translations, "de", Stretched())
    monkeypatch.setattr(ways, "_drawn", ways._drawn.__wrapped__)  # nothing kept from other tests

    def html(name: str) -> str:
        client = cast.clients["technician"]
        answer = client.get(address(cast, name, "technician"), headers={"accept-language": "de"})
        assert answer.status_code == 200, name
        return answer.content.decode()

    return html


def test_no_english_sentence_is_left_on_a_phone_s_page(page_of: Callable[[str], str]) -> None:
    """Every page of a technician's day with things on it."""
    known = sorted({one for one in entered() if one}, key=len, reverse=True)
    own = re.compile(rf"\b(?:{'|'.join(map(re.escape, known))})", re.IGNORECASE)
    left: dict[str, set[str]] = {}
    marked = set()
    for name in PHONE:
        said = Said(page_of(name))
        assert len(said.pieces) > 30
        marked |= {name} if said.marked else set()
        for piece in said.pieces:
            if {*ENGLISH.findall(own.sub("", piece))} - NAMES:
                left.setdefault(" ".join(piece.split()), set()).add(name)

    assert {**left} == {}, "\n".join(left)
    assert marked == IN_ENGLISH
