"""A firm of many places, items and sites: nobody looks through a list of hundreds."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from inventory.listed import SHORT
from inventory.models import Item, Place
from kitting.models import Site
from tests import people
from tests.people import Cast
from tests.test_cast import ROWS, address

MANY = 60
ASKED = [r for r in ROWS if r["method"] == "GET" and r["object"] in ("", "own", "firm")]
SELECT = re.compile(r"<select\b[^>]*>.*?</select>", re.DOTALL)
OURS = ('name="needs"',)  # the purposes that a rule can have: a list of ours, as long in any firm


@pytest.fixture(scope="module")
def big(django_db_setup, django_db_blocker):
    """The cast's firm, grown."""
    with django_db_blocker.unblock(), people.scene() as found:
        depot = found.dock.parent
        for n in range(MANY):
            Place.objects.create(kind="bin", code=f"BB{n}", name=f"Rack {n}", parent=depot)
            Item.objects.create(code=f"BI{n}", name=f"clip {n}", tracking="count")
            Item.objects.create(code=f"BS{n}", name=f"meter {n}", tracking="serial")
            place = Place.objects.create(kind="site", code=f"STEB{n}", name=f"Mill lane {n}")
            Site.objects.create(place=place)
        yield found


@pytest.mark.django_db
@pytest.mark.sqlite_only
@pytest.mark.parametrize("row", ASKED, ids=lambda row: f"{row['route']}-{row['object']}")
def test_no_page_has_a_list_of_hundreds(big: Cast, row: dict[str, str]) -> None:
    """What is long is typed into; a list is one that a thumb goes through."""
    for member in ("warehouse", "manager", "technician"):
        if not row[member].startswith("200"):
            continue
        client = Client()
        client.force_login(big.people[member])
        answer = client.get(address(big, row["route"], member, row["object"]))
        if "html" not in answer.headers.get("Content-Type", ""):
            continue
        for select in SELECT.findall(answer.content.decode()):
            own = any(name in select for name in OURS)
            assert own or select.count("<option") <= SHORT + 1, select[:200]
