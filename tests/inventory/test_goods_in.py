"""Receiving: units, boxes with the unit in them, batches, quantities."""

import pytest

from inventory import audit, placing
from inventory.codes import own
from inventory.models import Finding, Holding, Lot, Place, UnitAlias
from tests.firm import Firm, element_string

LOST = (
    "The second code cannot be read. Expected a separator between two elements, got none: "
    "the scanner may drop it. Scan with the camera, or set the scanner to send it."
)
MODULE, BRACKETS, SEALANT = element_string("A1"), "09521234000020", "09521234000037"


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


@pytest.mark.parametrize(("kind", "evidence"), [("", "box"), ("seen", "seen"), ("foo", "box")])
def test_how_the_serial_is_known_is_kept(shop: Firm, kind: str, evidence: str) -> None:
    """From the box, unless it was read on the thing itself; other words mean nothing."""
    shop.wanda.scan("receive", MODULE, target="DOCK", kind=kind)

    assert shop.unit("A1").evidence == evidence
    assert not shop.unit("A1").provisional


def test_a_box_and_the_serial_in_it_come_as_two_scans_of_one_event(shop: Firm) -> None:
    """The box is a place that holds the unit; it came from the supplier and stands on the dock."""
    done = shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})

    box = Place.objects.get(code="BOX-1")
    assert (done.verdict, done.sentence) == ("applied", "Module A1 received in its box.")
    assert done.thing["name"] == "Box of Module"
    assert (box.kind, box.parent, shop.unit("A1").place) == ("carton", shop.dock, box)
    assert clean()


@pytest.mark.parametrize(
    ("text", "inner", "sentence"),
    [
        # an article number is on many boxes
        (BRACKETS, MODULE, "The first code is not a box's own code. Scan the box again."),
        # a bin's label
        ("BIN1", MODULE, "Bin 1 is not a box. Scan the box's own code first."),
        # two box labels
        ("BOX-1", "BOX-2", "The second code is not a serial we can read. Scan it again."),
        # 90 may begin the next element: scanned again it is refused again
        (
            "BOX-1",
            element_string("CM26-09001"),
            LOST,
        ),
        # longer than a place's code may be
        ("B" * 130, MODULE, "This code is too long for a box's own code. Scan another one."),
    ],
)
def test_a_wrong_pair_of_scans_is_stopped(shop: Firm, text: str, inner: str, sentence: str) -> None:
    """The sentence says which of the two to scan again; nothing is received."""
    done = shop.wanda.scan("receive", text, target="DOCK", **{"with": inner})

    assert (done.verdict, done.sentence) == ("stopped", sentence)
    assert not Holding.objects.exists()


def test_a_box_label_of_another_unit_is_stopped(shop: Firm) -> None:
    """A label that is linked to one unit does not come with another."""
    shop.wanda.scan("receive", element_string("B2"), target="DOCK")
    unit = shop.unit("B2")
    UnitAlias.objects.create(unit=unit, kind="box", text="BOX-9", key="BOX-9")
    done = shop.wanda.scan("receive", "BOX-9", target="DOCK", **{"with": MODULE})

    assert done.verdict == "stopped"
    assert done.sentence == "This box belongs to another one, not to Module A1."


def test_what_is_here_is_not_received_again(shop: Firm) -> None:
    """Nothing moves, and the sentence says so."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("put", MODULE, target="BIN1")
    again = shop.wanda.scan("receive", MODULE, target="DOCK")

    assert (again.verdict, again.sentence) == ("noted", "Module A1 was received before.")
    assert shop.unit("A1").place == shop.bins[0]


def test_a_shared_code_brings_its_pack_each_time(shop: Firm) -> None:
    """Two bags of four; a number said counts instead of the pack."""
    for _ in range(2):
        shop.wanda.scan("receive", BRACKETS, target="DOCK")
    done = shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=3)

    assert done.sentence == "3 x Bracket received."
    assert Holding.objects.get(place=shop.dock).quantity == 11


def test_a_batch_is_kept_with_its_expiry(shop: Firm) -> None:
    """Number and day from the label; the stock is the batch's."""
    label = f"]C101{SEALANT}1727033110LOT7"
    done = shop.wanda.scan("receive", label, target="DOCK", via="symbol")

    lot = Lot.objects.get(key="LOT7")
    assert done.verdict == "applied", done.sentence
    assert str(lot.expires_on) == "2027-03-31"
    assert Holding.objects.get(place=shop.dock).lot == lot


def test_a_thing_with_serials_is_not_received_by_its_article_number(shop: Firm) -> None:
    """Its serial is asked for."""
    done = shop.wanda.scan("receive", "09521234000013", target="DOCK")

    assert done.sentence == "Module is followed by serial. Scan the serial code."


@pytest.mark.parametrize("target", ["NOWHERE", "SUPPLIER", None])
def test_a_place_of_ours_has_to_be_named(shop: Firm, target: str | None) -> None:
    """Not one that is unknown, nor the supplier's."""
    shop.wanda.scan("receive", BRACKETS, target="DOCK")  # makes the supplier's place
    done = shop.wanda.scan("receive", MODULE, target=target)

    assert done.sentence == "Say where it stands: scan a place of the depot."


def test_an_unknown_code_is_kept_for_the_office(shop: Firm) -> None:
    """With the place where it lies."""
    done = shop.wanda.scan("receive", "WHAT-1", target="DOCK")

    assert done.verdict == "problem"
    assert done.sentence.endswith("It is kept for the office to look at.")
    assert Finding.objects.get().place == shop.dock


@pytest.mark.parametrize("step", ["receive", "put"])
def test_an_unknown_code_scanned_again_is_one_problem_still(shop: Firm, step: str) -> None:
    """A scanner reads it five times; at another place it is asked again."""
    for place in ("DOCK", "DOCK", "DOCK", "BIN1"):
        assert shop.wanda.scan(step, "WHAT-1", target=place).verdict == "problem"

    asked = Finding.objects.filter(kind="code").order_by("pk")
    assert [one.place for one in asked] == [shop.dock, shop.bins[0]]


def test_a_suppliers_code_that_begins_as_our_labels_do_stops_no_label(shop: Firm) -> None:
    """The next parcel and the next reel get the label after the last of ours, whatever lies by."""
    first = placing.make("parcel", "Parcel 1")
    reel = shop.wanda.scan("make_piece", "SEA", target="BIN1", kind="opened", quantity=1000)
    for code, serial in (("LBPALLET7", "A1"), ("LBLOT9", "A2")):
        shop.wanda.scan("receive", code, target="DOCK", **{"with": element_string(serial)})
    Lot.objects.create(item=shop.sealant, number="LBLOT9", key="LBLOT9")
    second = placing.make("parcel", "Parcel 2")
    other = shop.wanda.scan("make_piece", "SEA", target="BIN1", kind="opened", quantity=1000)

    assert (first.code, second.code) == (own.make("parcel", 1), own.make("parcel", 2))
    assert {reel.verdict, other.verdict} == {"problem"}  # the book had none there
    pieces = Lot.objects.exclude(parent=None).order_by("pk").values_list("key", flat=True)
    assert list(pieces) == [own.make("lot", 1), own.make("lot", 2)]
