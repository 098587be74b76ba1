"""Counts: what the hand finds stands, whatever the book had."""

import pytest

from inventory.models import Holding, Kept
from inventory.moving import nameless
from inventory.queries import held
from tests.firm import Firm

BRACKETS, SEALANT = "09521234000020", "09521234000037"


@pytest.mark.parametrize(
    ("counted", "sentence"),
    [
        (10, "10 x Bracket: as the book has it."),
        (13, "13 x Bracket: the book had 10 and is put right."),
        (7, "7 x Bracket: the book had 10 and is put right."),
    ],
)
def test_the_book_is_set_to_the_count(shop: Firm, counted: int, sentence: str) -> None:
    """More, fewer, the same: from now on the item is kept there."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    done = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=counted)

    assert (done.verdict, done.sentence) == ("applied", sentence)
    assert held(shop.bins[0], nameless(shop.bracket)) == counted
    assert Kept.objects.get().place == shop.bins[0]


def test_none_is_a_count(shop: Firm) -> None:
    """A quantity of nought is said by its own word: a forgotten number is not nought."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    forgotten = shop.wanda.scan("count", BRACKETS, target="BIN1")
    none = shop.wanda.scan("count", BRACKETS, target="BIN1", kind="none")

    assert (forgotten.verdict, forgotten.sentence) == ("stopped", "Say how many there are.")
    assert none.verdict == "applied"
    assert held(shop.bins[0], nameless(shop.bracket)) == 0


def test_what_lacks_goes_from_the_batch_that_expires_first(shop: Firm) -> None:
    """Without a batch named, the older one is believed used."""
    for lot, day in (("LOTB", "270630"), ("LOTA", "270331")):
        label = f"]C101{SEALANT}17{day}10{lot}"
        shop.wanda.scan("receive", label, target="BIN1", via="symbol", quantity=1000)
    shop.wanda.scan("count", SEALANT, target="BIN1", quantity=700)

    rows = Holding.objects.filter(place=shop.bins[0]).values_list("lot__key", "quantity")
    assert dict(rows) == {"LOTA": 0, "LOTB": 700}


def test_one_batch_is_counted_alone(shop: Firm) -> None:
    """The other batch on the shelf is not touched."""
    for lot in ("LOTA", "LOTB"):
        label = f"]C101{SEALANT}10{lot}"
        shop.wanda.scan("receive", label, target="BIN1", via="symbol", quantity=1000)
    shop.wanda.scan("count", f"]C101{SEALANT}10LOTB", target="BIN1", via="symbol", quantity=400)

    rows = Holding.objects.filter(place=shop.bins[0]).values_list("lot__key", "quantity")
    assert dict(rows) == {"LOTA": 1000, "LOTB": 400}


def test_things_with_serials_are_not_counted(shop: Firm) -> None:
    """Each of them is scanned."""
    done = shop.wanda.scan("count", "09521234000013", target="BIN1", quantity=3)

    assert done.verdict == "stopped"
