"""The API of the upper house: jobs and kits, to those who may see them."""

from django.test import Client
from django.urls import reverse

from inventory.ledger.ids import uuid7
from kitting.models import Kit
from tests.kitting.yard import Yard, about


def browser(yard: Yard, who: str) -> Client:
    client = Client()
    client.force_login(getattr(yard, who).person)
    return client


def test_a_kits_lines_say_why_and_how_far(yard: Yard, kit: Kit) -> None:
    """Each line has its reasons as data, and its figures move with the scans."""
    yard.shelve("CT-BRACKET", 9)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    told = browser(yard, "mona").get(reverse("api_kit", args=[kit.uid])).json()
    line = next(line for line in told["lines"] if line["item"] == "CT-BRACKET")

    assert (line["needed"], line["picked"], line["state"]) == (2, 2, "picked")
    assert set(line["reasons"][0]) == {
        *("need", "rule", "arithmetic", "source", "quantity", "place", "by")
    }
    assert told["released"]
    assert all(caution["decides"] for caution in told["cautions"])


def test_a_kit_of_another_crew_is_not_there(yard: Yard, kit: Kit) -> None:
    """Its crew and the desk see it; another technician is told the same as for no kit."""
    where = reverse("api_kit", args=[kit.uid])
    nothing = reverse("api_kit", args=[uuid7()])

    assert browser(yard, "tariq").get(where).status_code == 200
    assert browser(yard, "tove").get(where).json() == browser(yard, "tove").get(nothing).json()


def test_jobs_are_ones_own(yard: Yard, kit: Kit) -> None:
    """The desk lists all, a technician their own."""
    listed = {
        who: [job["code"] for job in browser(yard, who).get(reverse("api_jobs")).json()]
        for who in ("mona", "wanda", "tariq", "tove")
    }

    assert listed == {"mona": ["J1001"], "wanda": ["J1001"], "tariq": ["J1001"], "tove": []}
