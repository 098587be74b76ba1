"""A bin is empty though the book says otherwise: the next bin, the dock, a substitute, a kit."""

from datetime import date

from django.test import Client
from django.urls import reverse

from inventory.models import Item, Place
from inventory.moving import nameless
from inventory.queries import held
from kitting import not_there, substituting
from kitting.models import Kit
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands


def test_an_empty_bin_offers_what_else_there_is(yard: Yard, kit: Kit) -> None:
    """In the order of taking; the dock by itself, for there it was not put away yet."""
    item = Item.objects.get(code="CT-BRACKET")
    for place, quantity in ((yard.firm.bins[0], 3), (yard.firm.bins[2], 5), (yard.firm.dock, 4)):
        yard.shelve("CT-BRACKET", quantity, place)
    other = yard.kit()
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, start="BIN3", **about(other))
    plate = Item.objects.get(code="CT-CLAMP-L")
    yard.shelve("CT-CLAMP-L", 9)
    given = {"item": item, "instead": plate, "each": 1, "takes": 1, "reason": "as strong"}
    substituting.decide(yard.mona.person, {**given, "since": date(2026, 1, 1)})
    found = not_there.elsewhere(kit, item, yard.firm.bins[0])

    assert found.left == 2
    assert [(s.place.code, s.quantity) for s in found.bins] == [("BIN3", 3)]
    assert [(s.place.code, s.quantity) for s in found.dock] == [("DOCK", 4)]
    assert [one.substitute.instead for one in found.instead] == [plate]
    assert [(one.kit, one.there) for one in found.donors] == [(other, 2)]
    assert not found.nothing


def test_two_touches_say_that_a_bin_is_empty(yard: Yard, kit: Kit, client: Client) -> None:
    """From the walk to the page, one press; the walk then leads to the next bin."""
    yard.shelve("CT-BRACKET", 3)
    yard.shelve("CT-BRACKET", 5, yard.firm.bins[1])
    hands = Hands(yard.wanda.person).begin(f"/kits/{kit.code}/pick")
    hands.follow("Not there?")
    assert "Bin 2" in hands.page.words
    assert hands.press("Bin 1 holds none") == "applied"

    assert (hands.scans, hands.touches, hands.typed) == (0, 2, 0)
    item = Item.objects.get(code="CT-BRACKET")
    assert held(Place.objects.get(code="BIN1"), nameless(item)) == 0
    page = hands.client.get(f"/kits/{kit.code}/pick").content.decode()
    assert page.index("Bin 2") < page.index("for: Fix")
    assert "Bin 1" not in page.split("Still to take")[1].split("Not in stock")[0]
    nowhere = hands.client.get(reverse("kit_empty", args=[kit.code]), {"item": "NO-SUCH"})
    assert nowhere.status_code == 404
