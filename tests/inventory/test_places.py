"""Places of ours change their name and turn, and go out of use when nothing is there."""

from __future__ import annotations

import pytest
from django.test import Client

from inventory import placing
from inventory.models import Amendment, Place
from inventory.overviews import docks, our_places, our_vans
from tests.firm import Firm, element_string

pytestmark = pytest.mark.django_db


def changed(office: Client, place: Place, **more: str) -> str:
    """What the page says after a change; "" where it was taken."""
    sent = {"name": place.name, "order": "0", "time_zone": "", "purpose": "", "in_use": "on"}
    answer = office.post(f"/places/{place.code}/", sent | more)
    return "" if answer.status_code == 302 else answer.content.decode()


@pytest.fixture
def office(shop: Firm, client: Client) -> Client:
    client.force_login(shop.mona.person)
    return client


def test_a_place_gets_another_name_and_the_label_stays(shop: Firm, office: Client) -> None:
    """Who changed what from what is kept; the code on the bin means it as before."""
    place = shop.bins[0]

    assert changed(office, place, name="North 7", order="12") == ""
    now = Place.objects.get(code=place.code)
    assert (now.name, now.order) == ("North 7", 12)
    noted = Amendment.objects.get(about=f"place:{place.code}")
    assert (noted.was["name"], noted.now["name"]) == ("Bin 1", "North 7")


def test_a_place_that_holds_something_stays_in_use(shop: Firm, office: Client) -> None:
    """It says what was expected; emptied, it goes, and no list offers it any more."""
    depot = placing.make("depot", "Annex")
    dock = placing.make("dock", "Annex dock", parent=depot)
    shop.wanda.scan("receive", element_string("B2"), target=dock.code)
    assert shop.unit("B2").place == dock

    assert "expected an empty place" in changed(office, dock, in_use="")
    assert "expected an empty place" in changed(office, depot, in_use="")
    assert Place.objects.get(pk=dock.pk).in_use

    shop.wanda.scan("put", "B2", target="BIN1")
    assert "expected nothing in use inside, got Annex dock" in changed(office, depot, in_use="")
    assert changed(office, dock, in_use="") == ""
    assert changed(office, depot, in_use="") == ""
    assert not {dock, depot} & set(our_places())
    assert dock not in docks()
    shown = office.get("/places/").content.decode()
    assert shown.count("no longer used") == 2
    assert changed(office, dock, in_use="on") == ""
    assert dock in docks()


def test_a_van_that_was_sold_is_offered_to_no_new_visit(shop: Firm, office: Client) -> None:
    """But a job that has it keeps it until somebody chooses another."""
    sold = placing.make("van", "Van 8")
    assert sold in our_vans()
    assert changed(office, sold, in_use="") == ""
    assert sold not in our_vans()
    assert sold in our_vans(also=sold.pk)


def test_many_bins_fill_pages_and_are_searched_for(shop: Firm, office: Client) -> None:
    """Depots and vans come first; each word is part of a name, a label or what it stands in."""
    annex = placing.make("depot", "Annex")
    bins = [placing.make("bin", f"Rack {n:03}", parent=annex, order=900 + n) for n in range(101)]
    first = office.get("/places/").content.decode()
    assert first.index(">Annex</a>") < first.index(">Rack 000</a>")
    assert f">{bins[-1].name}</a>" not in first
    assert f">{bins[-1].name}</a>" in office.get("/places/?page=2").content.decode()

    for search in ("annex 077", bins[77].code.lower()):
        found = office.get("/places/", {"q": search}).content.decode()
        assert found.count(">Rack ") == 1, search
        assert "bin in Annex" in found
    assert "No such place" in office.get("/places/", {"q": "cellar"}).content.decode()


def test_a_new_place_stands_in_none_of_a_kit(shop: Firm, office: Client) -> None:
    """Bays of kits bear one name each time: a list of them tells nobody anything."""
    Place.objects.create(
        kind="bay", code="K1-BAY", name="Bay of a kit", parent=shop.dock, subject="kit:K1"
    )
    asked = office.get("/places/").content.decode().split('name="parent"')[1].split("</select>")[0]

    assert shop.dock.name in asked
    assert "Bay of a kit" not in asked
