"""A technician's papers are in the language of who asks for them, or of the customer."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import dates, translation
from django.utils.translation import trans_real

from inventory.models import Person
from inventory.queries import latest_mark
from kitting.models import Kit
from kitting.printing import handover, paper, site
from kitting.speaking import told
from tests.kitting.test_printing import SMALLEST
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about, fresh
from tests.printed import Sheet
from tests.stretched import PLAIN, Stretched, catalogue

pytestmark = pytest.mark.sqlite_only  # paper, the same from either database

PAPERS = {"hand-over": handover.pdf, "site": site.pdf}
WORD = re.compile(r"[^\W\d_]{3,}")
# Signs that all languages share: units, standards, the digest's name, the numbers' mark.
SIGNS = {"VDI", "SHA", "RFC", "Donnerstag", "November", "Nov"}  # Django names the days

DAYS = (dates.MONTHS, dates.MONTHS_3, dates.WEEKDAYS, dates.WEEKDAYS_ABBR)


@pytest.fixture
def handed(yard: Yard, kit: Kit) -> Kit:
    """A kit with one unit fitted, something missing, a thing used, ohms and charge entered."""
    carry(yard, kit, "S1", "S2")
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 2}, number=7, **about(kit))
    yard.tariq.scan("missing", "CT-BOLT6", quantity=2, **about(kit))
    yard.tariq.scan("request", "CT-BOLT6", quantity=2, **about(kit))
    yard.tariq.scan("tick", kind="joints", number=1, reason="customer wants it later", **about(kit))
    yard.tariq.scan("measure_bus", kind="stack bus 1", number=120, **about(kit))
    return fresh(kit)


def own_words(kit: Kit) -> set[str]:
    """What the firm and its parts list wrote themselves, and people's names."""
    known = kit.snapshot
    texts = [str(known), str(latest_mark()["root"]), str(kit.job.site), kit.job.site.address]
    texts += [
        kit.code,
        kit.job.site.place.code,
        kit.edition.name,
        kit.edition.text,
        str(kit.job.van),
    ]
    texts += [name for line in kit.lines.all() for name in (line.item.name, line.item.code)]
    texts += [f"{one.name} {one.username}" for one in Person.objects.all()]
    return {word.lower() for text in texts for word in WORD.findall(text)}


def plain(text: str) -> Iterator[str]:
    """Words in letters that the made-up language has not."""
    return (word for word in WORD.findall(text) if {*word} <= {*PLAIN})


@pytest.mark.parametrize("name", PAPERS)
def test_no_word_of_a_paper_goes_past_the_translation(
    handed: Kit, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the made-up language only what people and parts lists wrote has plain letters, and no
    drawn-out word runs off the paper."""
    monkeypatch.setitem(trans_real._translations, "de", Stretched())
    with translation.override("de"):
        sheet = Sheet(PAPERS[name](handed, "A4"))

    known = own_words(handed) | {word.lower() for word in SIGNS}
    assert {word for word in plain(sheet.text) if word.lower() not in known} == set()
    assert sheet.outside(SMALLEST) == []


@pytest.mark.parametrize("language", ["de", "es"])
def test_no_word_of_a_paper_is_broken(handed: Kit, language: str) -> None:
    """Each word on it is a whole one: of the catalogue, of those who wrote the parts list, or a
    name of a day."""
    with translation.override(language):
        text = " ".join(Sheet(pdf(handed, "A4")).text for pdf in PAPERS.values())
        days = " ".join(str(one) for names in DAYS for one in names.values())

    known = {word.lower() for word in WORD.findall(" ".join([*catalogue(language).values(), days]))}
    known |= own_words(handed) | {word.lower() for word in SIGNS}
    assert {word for word in WORD.findall(text) if word.lower() not in known} == set()


@pytest.mark.parametrize(
    ("who", "roles", "asked", "language"),
    [
        ("tariq", ["technician"], "", "de"),
        ("tariq", ["technician"], "es", "es"),
        ("tariq", ["technician"], "en-gb", "en-gb"),
        ("mona", ["manager"], "", "en-gb"),
        ("mona", ["manager"], "de", "de"),
        ("tariq", ["manager", "technician"], "", "en-gb"),
    ],
)
@pytest.mark.parametrize("route", ["job_hand_over", "job_site_sheet"])
def test_a_paper_is_in_the_language_of_who_asks_unless_one_is_chosen(
    client: Client,
    yard: Yard,
    kit: Kit,
    route: str,
    who: str,
    roles: list[str],
    asked: str,
    language: str,
) -> None:
    """A German phone prints German; the customer's language is one press; the desk has English."""
    Person.objects.filter(username=who).update(roles=roles)
    client.force_login(Person.objects.get(username=who))
    answer = client.get(
        reverse(route, args=[kit.job.code]),
        {"language": asked} if asked else {},
        headers={"accept-language": "de"},
    )

    told = Sheet(answer.content).text
    words = {"de": "Seite 1 von", "es": "Página 1 de", "en-gb": "Page 1 of"}
    assert answer.headers["Content-Language"] == language
    assert [one for one, said in words.items() if said in told] == [language]


def test_the_hand_over_sheet_is_offered_in_each_other_language(
    client: Client, yard: Yard, kit: Kit
) -> None:
    """At its link, on the page of the job and where it is handed over; a made-up one is refused."""
    client.force_login(yard.tariq.person)
    where = reverse("job_hand_over", args=[kit.job.code])
    for page in ("my_job", "my_back"):
        answer = client.get(reverse(page, args=[kit.job.code]), headers={"accept-language": "es"})
        html = answer.content.decode()
        found = re.findall(rf'href="{where}\?language=([\w-]+)"', html)
        assert found == ["es", "en-gb", "de"]
    assert client.get(where, {"language": "xx"}).status_code == 404


@pytest.mark.parametrize(
    ("language", "day", "measure"),
    [
        ("en-gb", "Thursday 26 November 2026", "1.06 m high"),
        ("de", "Donnerstag, 26. November 2026", "1,06 m hoch"),
        ("es", "jueves, 26 de noviembre de 2026", "1,06 m de alto"),
    ],
)
def test_days_figures_and_cautions_are_in_the_language(
    handed: Kit, language: str, day: str, measure: str
) -> None:
    """As they are written there; codes, serials and the record mark are the same in each; every
    caution is told with who decides, and nothing comes near the edge of either paper."""
    with translation.override(language):
        sheets = [Sheet(print_(handed, size)) for print_ in PAPERS.values() for size in paper.SIZES]
        cautions = [
            (told(one["words"]), told(one["decides"])) for one in handed.snapshot["cautions"]
        ]

    texts = ["".join(sheet.text.split()) for sheet in sheets]
    assert all(day.replace(" ", "").lower() in text.lower() for text in texts)
    assert measure.replace(" ", "") in texts[0]
    assert all(str(latest_mark()["root"]) in text for text in texts)
    assert handed.job.site.place.code in texts[0]
    letters = ["".join(re.findall(r"\w", text)) for text in texts]  # a hyphen may end a line
    for part in ("".join(re.findall(r"\w", one)) for pair in cautions for one in pair):
        assert [part for text in letters if part not in text] == []
    assert [sheet.outside(SMALLEST) for sheet in sheets] == [[]] * 4
    assert all("?" not in text.replace("?language", "") for text in texts[:2])
