"""Which code a thing's label carries, and what people read on it."""

from datetime import date

import pytest

from inventory.labelling import label_of, of_item, of_lot, of_place, of_unit
from inventory.labels.errors import LabelRefused
from inventory.models import Item, ItemCode, Lot, Place
from inventory.scanning import resolve
from tests import firm
from tests.firm import MODULE_GTIN, Firm, element_string


@pytest.fixture
def made(db: None) -> Firm:
    return firm.build()


def test_a_unit_carries_article_number_and_serial(made: Firm) -> None:
    """GS1 identifiers 01 and 21 (GS1 General Specifications, table of identifiers)."""
    made.wanda.scan("receive", element_string("S77"), target="DOCK")
    label = of_unit(made.unit("S77"))

    assert label.pairs == (("01", MODULE_GTIN), ("21", "S77"))
    assert "S77" in label.lines


def test_a_batch_carries_its_expiry_before_its_number(made: Firm) -> None:
    """17 is of fixed length and needs no separator behind it, so it stands before 10."""
    day = date(2027, 3, 31)
    lot = Lot.objects.create(item=made.sealant, number="L9", key="L9", expires_on=day)

    assert of_lot(lot).pairs == (("01", "09521234000037"), ("17", "270331"), ("10", "L9"))
    assert "use by 2027-03-31" in of_lot(lot).lines


def test_a_place_says_where_it_belongs_but_never_whose_it_is(made: Firm) -> None:
    """Whoever scans a bag on a van learns no job from it."""
    bag = Place(kind="bag", code="LBG0000012", name="Bag 1", parent=made.van, subject="kit:x")
    label = of_place(bag)

    assert (label.kind, label.code, label.lines) == ("bag", "LBG0000012", ("Van 1",))


def test_what_has_no_code_gets_no_label(made: Firm) -> None:
    """An item without a printed code, and a text that means nothing, are named."""
    bare = Item.objects.create(code="BARE", name="Bare", tracking="count")
    with pytest.raises(LabelRefused, match="BARE: expected an item with a code of its own"):
        of_item(bare)
    with pytest.raises(LabelRefused, match="NO-SUCH: expected a code that is known here"):
        label_of(resolve("NO-SUCH"))


def test_only_what_is_gs1_is_printed_as_gs1(made: Firm) -> None:
    """A box's shipping number keeps its identifier 00; what GS1 has no room for stays plain text.

    Source: GS1 General Specifications, identifiers 00, 01 and 21 (at most 20 characters of set 82).
    Each label still leads to its thing.
    """
    shipped = "00095212340000000013"
    made.wanda.scan("receive", f"]C1{shipped}", target="DOCK", **{"with": element_string("S1")})
    long = "S-" + "0123456789" * 2
    made.wanda.scan("receive", element_string("S2"), target="DOCK")
    unit = made.unit("S2")
    unit.serial = long
    wrong = Item.objects.create(code="WRONG", name="Wrong digit", tracking="count")
    ItemCode.objects.create(item=wrong, text="09521234543214", key="09521234543214")

    box = label_of(resolve(shipped))
    assert (("00", shipped[2:]),) == box.pairs
    assert box.kind == "carton"
    assert resolve(box.carried.decode(), "symbol").place == resolve(shipped).place
    assert ((), long) == (of_unit(unit).pairs, of_unit(unit).code)
    assert (of_item(wrong).pairs, of_item(wrong).code) == ((), "09521234543214")
