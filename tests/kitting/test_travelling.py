"""What a kit travels in: what is loaded, what is in each bag, what a problem can be about."""

from kitting import travelling
from kitting.models import Kit
from tests.kitting.yard import Yard, about


def test_one_scan_loads_a_parcel_with_all_its_bags(yard: Yard, kit: Kit) -> None:
    """The parcel waits until it is scanned; a boxed unit stands beside it with its box's code."""
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    yard.shelve("CT-BRACKET", 5)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    before = travelling.loads_of(kit)
    parcel = next(load for load in before if load.name == "Parcel 1")
    yard.wanda.scan("load", parcel.code, **about(kit))
    after = {load.name: load.loaded for load in travelling.loads_of(kit)}

    assert {load.name: load.loaded for load in before} == {
        "Parcel 1": False,
        "battery module S1": False,
    }
    assert {load.code for load in before} == {parcel.code, "BOX-S1"}
    assert after == {"Parcel 1": True, "battery module S1": False}


def test_a_bag_is_seen_when_it_is_out_of_its_parcel(yard: Yard, kit: Kit) -> None:
    """What was not seen comes first; an empty bag that nobody opened is left out."""
    yard.shelve("CT-BRACKET", 5)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    [group] = travelling.contents_of(kit)
    assert (group.seen, group.loaded) == (False, False)
    yard.wanda.scan("load", kit.packages.get(kind="parcel").place.code, **about(kit))
    yard.tariq.scan("unbox", group.place.code, **about(kit))
    [group] = travelling.contents_of(kit)

    assert (group.seen, group.loaded) == (True, True)
    assert [str(thing) for thing in group.things] == ["2 x wall bracket"]


def test_places_in_the_stack_say_what_stands_there(yard: Yard, kit: Kit) -> None:
    """Only things with a serial have a place: two modules and the head."""
    yard.box("S1")
    said = about(kit, position={"stack": 1, "level": 1})
    yard.tariq.scan("fit", yard.label("S1"), **said)

    assert [(spot.value, spot.taken) for spot in travelling.spots_of(kit)] == [
        ("1/1", "S1"),
        ("1/2", ""),
        ("1/3", ""),
    ]


def test_a_problem_can_be_about_a_bag_a_unit_or_an_item(yard: Yard, kit: Kit) -> None:
    """What is sent is what a scan would have said."""
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    texts = {choice.sort: choice.text for choice in travelling.choices_of(kit)}

    assert set(texts) == {"bag", "unit", "item"}
    assert texts["unit"] == "S1"
