"""By dimension: the item whose range holds the measure, the thread of the hole first."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

GLANDS = [
    thing("g20", thread="M20", fits={"diameter": [60, 120]}),
    thing("g25", thread="M25", fits={"diameter": [110, 170]}),
    thing("g32", thread="M32", fits={"diameter": [180, 250]}),
]
SEATS = ("M20 in M25", "M25 in M25", "M32 in M25")
RULE = 'measure = "diameter"\nchoose = ["g20", "g25", "g32"]'


@pytest.mark.parametrize(
    ("diameter", "gland"),
    [
        (60, "g20"),  # the lower end fits
        (109, "g20"),
        (110, "g25"),  # both hold it: the thread of the hole first
        (120, "g25"),
        (170, "g25"),  # the upper end fits
        (180, "g32"),
        (250, "g32"),
    ],
)
def test_the_gland_holds_the_cable(diameter, gland):
    """Least <= diameter <= most; where two hold it, no reducer is better than one."""
    assert counted("fit", RULE, GLANDS, SEATS, diameter=diameter, hole="M25")[0] == {gland: 1}


@pytest.mark.parametrize(
    ("diameter", "said"),
    [
        (59, "5.9 mm; nearest, not taken: g20 from 6 mm"),
        (171, "17.1 mm; nearest, not taken: g25 up to 17 mm and g32 from 18 mm"),
        (179, "17.9 mm; nearest, not taken: g25 up to 17 mm and g32 from 18 mm"),
        (251, "25.1 mm; nearest, not taken: g32 up to 25 mm"),
    ],
)
def test_nothing_fits_is_said(diameter, said):
    """A tenth of a millimetre outside every range gives no gland; the nearest are only named."""
    with pytest.raises(CannotCount) as error:
        counted("fit", RULE, GLANDS, SEATS, diameter=diameter, hole="M25")

    assert str(error.value) == f"nothing listed fits diameter {said}"


def test_a_gland_that_nothing_seats_is_not_taken():
    """A gland whose thread finds no reducer into the hole is no answer, and its name is told."""
    with pytest.raises(CannotCount) as error:
        counted("fit", RULE, GLANDS, SEATS[:2], diameter=200, hole="M25")

    assert str(error.value) == (
        "g32 would hold diameter 20 mm, but nothing seats it in the hole M25"
    )


@pytest.mark.parametrize(
    ("hole", "diameter", "gland"),
    [
        ("M32", 100, "g20"),  # through a reducer
        ("M25", 200, "g32"),  # through an enlarger
        ("M32", 200, "g32"),  # straight in
    ],
)
def test_reducers_and_enlargers_seat_a_gland(hole, diameter, gland):
    """Whichever of the two threads is larger, the part between them is one that a rule names."""
    seats = ("M20 in M32", "M32 in M25", "M32 in M32")

    assert counted("fit", RULE, GLANDS, seats, diameter=diameter, hole=hole)[0] == {gland: 1}


def test_the_reason_is_told_in_millimetres():
    """Tenths are for files; people read mm."""
    givings = counted("fit", RULE, GLANDS, SEATS, diameter=125, hole="M25")[1]

    assert givings[0].words == "diameter 12.5 mm lies in 11 to 17 mm of g25"


def test_both_ends_of_every_range_are_thresholds():
    """The outcome changes at the ends of what an item holds."""
    found, _, book = way("fit", RULE, GLANDS)
    figures = [threshold.value for threshold in found.thresholds(book)]

    assert figures == [60, 110, 120, 170, 180, 250]


BITS = [thing("b160", fits={"depth": [0, 160]}), thing("b310", fits={"depth": [0, 310]})]


@pytest.mark.parametrize(("depth", "bit"), [(160, "b160"), (161, "b310"), (310, "b310")])
def test_the_drill_bit_reaches_the_depth(depth, bit):
    """The shortest bit that is not shorter than the hole is deep."""
    rule = 'measure = "depth"\nchoose = ["b160", "b310"]'

    assert counted("fit", rule, BITS, depth=depth)[0] == {bit: 1}


def test_a_hole_too_deep_is_said():
    """No bit is stretched."""
    with pytest.raises(CannotCount) as error:
        counted("fit", 'measure = "depth"\nchoose = ["b160", "b310"]', BITS, depth=311)

    assert str(error.value) == (
        "nothing listed fits depth 311 mm; nearest, not taken: b310 up to 310 mm"
    )


@pytest.mark.parametrize(("modules", "lead"), [(2, "l10"), (3, "l17"), (4, "l17")])
def test_a_ready_made_lead_reaches_the_path(modules, lead):
    """The shortest lead that is not shorter than the path."""
    leads = [thing("l17", fits={"length": [0, 1700]}), thing("l10", fits={"length": [0, 1000]})]
    rule = 'measure = "length"\nvalue = { fixed = 320, modules = 340 }\nchoose = ["l17", "l10"]'

    assert counted("fit", rule, leads, modules=modules)[0] == {lead: 1}


def test_an_item_that_has_no_such_range_is_a_fault():
    """Only items measured the same way can be chosen from."""
    fault = way("fit", 'measure = "diameter"\nchoose = ["bolt"]')[1]

    assert fault == ["rule: choose: expected items with fits.diameter, got 'bolt'"]
