"""Putting away and moving: units, boxes, quantities."""

import pytest

from inventory.models import Finding, Place
from inventory.moving import nameless
from inventory.queries import held
from tests.firm import Firm, element_string

MODULE, BRACKETS = element_string("A1"), "09521234000020"


def test_a_unit_goes_to_the_place_that_is_scanned(shop: Firm) -> None:
    """From wherever it stood; again it is there already."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    first = shop.wanda.scan("put", MODULE, target="BIN1")
    again = shop.wanda.scan("put", MODULE, target="BIN1")

    assert (first.verdict, again.verdict) == ("applied", "noted")
    assert shop.unit("A1").place == shop.bins[0]


def test_a_fitted_unit_in_the_hand_is_a_persons_to_decide(shop: Firm) -> None:
    """It hangs on a wall by the book: nothing moves, both claims are shown."""
    site = Place.objects.create(kind="site", code="SITE1", name="Site 1")
    stack = Place.objects.create(kind="stack", code="SITE1-1", name="Stack 1", parent=site)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("put", MODULE, target=stack.code)
    done = shop.wanda.scan("put", MODULE, target="BIN1")

    assert done.verdict == "dispute"
    assert shop.unit("A1").place == stack
    assert Finding.objects.get().kind == "clash"


@pytest.mark.parametrize("start", [None, "NOWHERE", "SUPPLIER", "BIN1"])
def test_a_quantity_needs_a_place_of_ours_to_come_from(shop: Firm, start: str | None) -> None:
    """Another than the one it goes to."""
    shop.wanda.scan("receive", BRACKETS, target="DOCK")
    done = shop.wanda.scan("put", BRACKETS, start=start, target="BIN1")

    assert done.sentence == "Scan the place it comes from, then the place it goes to."
    assert held(shop.dock, nameless(shop.bracket)) == 4


def test_a_box_goes_as_a_whole_and_a_bin_stays(shop: Firm) -> None:
    """What cannot be moved is told by its kind."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    box = shop.wanda.scan("put", "BOX-1", target="BIN1")
    again = shop.wanda.scan("put", "BOX-1", target="BIN1")
    shelf = shop.wanda.scan("put", "BIN2", target="BIN1")

    assert (box.verdict, again.verdict) == ("applied", "noted")
    assert shelf.sentence == "Bin 2 is a bin and stays where it is."
