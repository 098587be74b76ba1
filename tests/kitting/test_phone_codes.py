"""What a technician's phone knows of a code beforehand, and what it must not know."""

from __future__ import annotations

import gzip
import json
from datetime import date
from typing import Any

import pytest
from django.test import Client

from inventory.codes.serials import look_up_key
from inventory.models import Item
from kitting import phone_codes
from kitting.models import Kit
from tests.kitting import yard
from tests.kitting.yard import DAY, Yard, about

pytestmark = pytest.mark.django_db

ADDRESS = "/api/my/codes"


@pytest.fixture
def made() -> Yard:
    """Two jobs of two crews; a module of each is picked, Tariq's is on the van."""
    found = yard.build()
    for name in ("wanda", "tariq", "tove"):
        person = getattr(found, name).person
        person.set_password("twelve letters and more")
        person.save()
    found.shelve("CT-CLAMP-L", 20)
    return found


@pytest.fixture
def kits(made: Yard) -> tuple[Kit, Kit]:
    ours, theirs = made.kit(), made.kit(made.job(made.tove))
    for kit, serial in ((ours, "S1"), (theirs, "T1")):
        made.box(serial)
        made.wanda.scan("pick", f"BOX-{serial}", **about(kit))
        made.wanda.scan("load", f"BOX-{serial}", **about(kit))
    return ours, theirs


def tables(made: Yard, today: date = DAY) -> dict[str, Any]:
    return phone_codes.tables_of(made.tariq.person, today)


def found(table: dict[str, Any], text: str) -> list[Any] | None:
    """What the phone finds by a text: the thing without its keys."""
    key = look_up_key(text)
    return next((thing[:6] for thing in table["things"] if key in thing[6]), None)


def test_a_thing_is_found_by_each_of_its_labels(made: Yard, kits: tuple[Kit, Kit]) -> None:
    """The unit's own by serial and element string, its box by the box's code; with its way."""
    made.box("S2", at=made.firm.van)
    table = tables(made)
    module = table["items"].index(Item.objects.get(code="CT-MODULE").name)
    unit = ["unit", module, "S1", made.firm.van.name, 0, phone_codes.LOADED]
    for text in ("S1", made.label("S1"), "01" + yard.GTINS["CT-MODULE"] + "21S1\r"):
        thing = found(table, text)
        assert thing is not None
        assert [*thing[:3], *thing[4:]] == [*unit[:3], *unit[4:]]
        assert made.firm.van.name in thing[3]
    box = found(table, "BOX-S1")
    assert box is not None
    assert box[:3] == ["box", module, "S1"]
    spare = found(table, "S2")
    assert spare is not None
    assert spare[4] == phone_codes.NO_JOB  # the van's own: it may stand in


def test_parcels_and_items_are_found(made: Yard, kits: tuple[Kit, Kit]) -> None:
    """A parcel by its label, an item by its code, with what the job needs of it."""
    table = tables(made)
    parcel = kits[0].packages.get(kind="parcel").place
    thing = found(table, parcel.code.lower())
    assert thing is not None
    assert thing[:3] == ["package", None, parcel.name]
    clamp = found(table, "CT-CLAMP-L")
    assert clamp is not None
    assert clamp[0] == "item"
    lines = kits[0].lines.filter(item__code="CT-CLAMP-L")
    needed = sum(lines.values_list("quantity", flat=True))
    assert table["jobs"][0]["counts"][clamp[1]][:2] == [needed, 0]


def test_another_s_code_is_known_as_another_s_only(made: Yard, kits: tuple[Kit, Kit]) -> None:
    """Neither serial, code of a place, job, site nor address of the other crew leaves the house."""
    table = tables(made)
    text = json.dumps(table)
    other = kits[1]
    codes = list(other.packages.values_list("place__code", flat=True))
    for secret in ("T1", other.job.code, *codes):
        assert json.dumps(secret) not in text
    for code in ("T1", made.label("T1"), "BOX-T1", *codes):
        assert found(table, code) is None
        assert phone_codes.hashed(look_up_key(code), made.tariq.person) in table["others"]
    assert phone_codes.hashed("S1", made.tariq.person) not in table["others"]


def test_what_is_set_aside_and_seen_says_so(made: Yard, kits: tuple[Kit, Kit]) -> None:
    """The phone can stop a person before anything is used."""
    made.wanda.scan("set_aside", made.label("S1"), reason="wet")
    thing = found(tables(made), "S1")
    assert thing is not None
    assert thing[5] == phone_codes.ASIDE


def test_the_address_gives_the_own_and_says_when_nothing_changed(
    made: Yard, kits: tuple[Kit, Kit], client: Client
) -> None:
    """Pressed, with a tag: asked again with it nothing travels; a scan makes another tag."""
    client.force_login(made.tariq.person)
    answer = client.get(ADDRESS, headers={"accept-encoding": "gzip"})
    table = json.loads(gzip.decompress(answer.content))
    tag = answer.headers["ETag"]

    assert table["person"] == str(made.tariq.person.uid)
    assert int(answer.headers["X-Session-Ends"]) > 0
    assert client.get(ADDRESS, headers={"if-none-match": tag}).status_code == 304
    made.tariq.scan("unbox", made.label("S1"), **about(kits[0]))
    again = client.get(ADDRESS, headers={"if-none-match": tag})
    assert again.status_code == 200
    assert found(again.json(), "S1")[5] == phone_codes.SEEN  # type: ignore[index]


def test_a_job_too_far_off_is_not_there_yet(made: Yard, kits: tuple[Kit, Kit]) -> None:
    """Only the coming days are carried about."""
    assert tables(made, date(2026, 11, 1))["jobs"] == []
    assert [job["code"] for job in tables(made)["jobs"]] == [kits[0].job.code]
