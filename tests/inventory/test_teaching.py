"""An unknown code is taught on the spot and confirmed later; an unknown serial is provisional."""

import pytest

from inventory import teaching
from inventory.models import Finding, ItemCode, Unit
from inventory.moving import nameless
from inventory.queries import held
from tests.firm import Firm

ODD, OTHER = "ODD-BAG-77", "]C10109521234099994"
PHOTO = "ab" * 32


def taught(shop: Firm, text: str, **more: object):
    return shop.wanda.scan("teach", text, **{"with": "BRA", **more})


def test_a_code_means_the_item_at_once_and_is_confirmed_later(shop: Firm) -> None:
    """Six in a bag: the next scan counts six; until a manager says so it is a problem."""
    shop.wanda.scan("receive", ODD, target="DOCK")
    assert teaching.unknown_codes("") == [ODD]
    done = taught(shop, ODD, quantity=6)

    assert done.sentence == "ODD-BAG-77 is now Bracket, 6 each. Scan it again."
    assert teaching.unknown_codes("") == []
    assert shop.wanda.scan("receive", ODD, target="DOCK").verdict == "applied"
    assert held(shop.dock, nameless(shop.bracket)) == 6
    assert [one.item for one in teaching.taught()] == [shop.bracket]

    assert shop.wanda.scan("confirm_code", ODD).kind == "not_allowed"
    assert shop.mona.scan("confirm_code", ODD).sentence == "ODD-BAG-77 is Bracket."
    assert not teaching.taught().exists()
    assert shop.mona.scan("confirm_code", ODD).verdict == "noted"
    assert ItemCode.objects.filter(key=ODD, item=shop.bracket).exists()


@pytest.mark.parametrize("way", ["wrong", "undone"])
def test_what_was_taught_wrong_means_nothing_again(shop: Firm, way: str) -> None:
    """Said by the manager or undone at the bench; what was booked by it stays booked."""
    done = taught(shop, ODD)
    if way == "wrong":
        shop.mona.scan("confirm_code", ODD, kind="wrong")
    else:
        shop.wanda.scan("undo", reverses=done.id)

    assert not ItemCode.objects.filter(key=ODD).exists()
    assert not teaching.taught().exists()
    assert shop.wanda.scan("receive", ODD, target="DOCK").verdict == "problem"


def test_of_a_gs1_label_the_article_number_is_taught(shop: Firm) -> None:
    """Not the batch and serial that stand beside it."""
    done = taught(shop, OTHER + "10LOT-7")

    assert done.verdict == "applied", done.sentence
    assert ItemCode.objects.get(item=shop.bracket, key="09521234099994").pack_quantity == 1
    assert shop.wanda.scan("receive", OTHER + "10LOT-9", target="DOCK").verdict == "applied"


def test_an_unknown_serial_is_entered_with_a_photo_and_as_provisional(shop: Firm) -> None:
    """Without one nothing is entered."""
    bare = shop.wanda.scan("teach", "XZ 4711", **{"with": "MOD"})
    done = shop.wanda.scan("teach", "XZ 4711", photo=PHOTO, **{"with": "MOD"})

    assert bare.sentence == "Module is followed by serial. Photograph its label too."
    assert done.verdict == "applied", done.sentence
    unit = Unit.objects.get(serial="XZ 4711")
    assert (unit.provisional, unit.place) == (True, None)
    assert Finding.objects.get(unit=unit).photo == PHOTO
    assert not ItemCode.objects.filter(text="XZ 4711").exists()


@pytest.mark.parametrize(
    ("text", "with_", "words"),
    [
        ("BRA", "BRA", "This is known: Bracket."),  # the item's own code
        ("BIN1", "BRA", "This is known: Bin 1."),
        (ODD, "", "Say what it is: choose the item."),
        ("N" * 121, "BRA", "Expected a code of 1 to 120 characters."),
    ],
)
def test_what_cannot_be_taught_is_said(shop: Firm, text: str, with_: str, words: str) -> None:
    """What is known stays what it is."""
    done = shop.wanda.scan("teach", text, **{"with": with_})

    assert (done.verdict, done.sentence) == ("stopped", words)
