"""Several cables through one hole: the smallest insert whose holes take each of them.

Ranges and cables are worked by hand; EN 62444 fixes no clamp range, each belongs to its part.
"""

import itertools

import pytest

from kitting.plan.counting.insert import placed
from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

INSERTS = [
    thing("i2", holes=[[40, 60], [40, 60]], thread="M25"),
    thing("i2wide", holes=[[40, 60], [60, 90]], thread="M25"),
    thing("i4", holes=[[30, 50]] * 4, thread="M25"),
    thing("i3big", holes=[[70, 110]] * 3, thread="M32"),
    thing("pin"),
]
SEATS = ("M25 in M25", "M32 in M25")
RULE = 'choose = ["i2", "i2wide", "i4", "i3big"]\npin = "pin"'


def taken(*diameters, number=1, seats=SEATS):
    """What cables of these tenths of mm take."""
    cables = {f"diameter run {i}": value for i, value in enumerate(diameters, 1)}
    return counted("insert", RULE, INSERTS, seats, number=number, hole="M25", **cables)


@pytest.mark.parametrize(
    ("diameters", "wanted"),
    [
        ((40, 60), {"i2": 1}),  # both ends of a hole fit
        ((55,), {"i2": 1, "pin": 1}),  # one cable: the second hole is pinned
        ((60, 61), {"i2wide": 1}),  # one hole each, whichever comes first
        ((61, 60), {"i2wide": 1}),
        ((60, 60), {"i2": 1}),
        ((90, 40), {"i2wide": 1}),
        ((39, 40), {"i4": 1, "pin": 2}),  # 3.9 mm is too thin for the first two
        ((45, 45, 45), {"i4": 1, "pin": 1}),  # three cables want three holes
        ((70, 110), {"i3big": 1, "pin": 1}),  # seated by an enlarger
    ],
)
def test_the_smallest_insert_takes_every_cable(diameters, wanted):
    """The thread of the hole first, then the fewest holes, then the tightest."""
    assert taken(*diameters)[0] == wanted


def test_pins_are_counted_for_every_insert():
    """Three entries of one cable each: three inserts, three pins, and the arithmetic of both."""
    found, givings = taken(55, number=3)

    assert found == {"i2": 3, "pin": 3}
    assert [given.words for given in givings] == [
        "run 1 of 5.5 mm lies in 4 to 6 mm of i2",
        "2 holes - 1 cables = 1 to pin; 3 x 1 = 3",
    ]


@pytest.mark.parametrize(
    ("diameters", "asked"),
    [
        ((61, 61), "run 1 6.1 mm, run 2 6.1 mm"),  # the wide hole is there once
        ((91, 40), "run 1 9.1 mm, run 2 4 mm"),
        ((29, 40), "run 1 2.9 mm, run 2 4 mm"),
        ((51, 51, 51), "run 1 5.1 mm, run 2 5.1 mm, run 3 5.1 mm"),
    ],
)
def test_no_insert_takes_them_is_said(diameters, asked):
    """A tenth of a millimetre or one cable too many gives no insert; what there is is named."""
    with pytest.raises(CannotCount) as error:
        taken(*diameters)

    assert str(error.value) == (
        f"no listed insert takes {asked} together; their holes: i2 4 to 6 mm, 4 to 6 mm;"
        " i2wide 4 to 6 mm, 6 to 9 mm; i4 3 to 5 mm, 3 to 5 mm, 3 to 5 mm, 3 to 5 mm;"
        " i3big 7 to 11 mm, 7 to 11 mm, 7 to 11 mm"
    )


def test_an_insert_that_nothing_seats_is_not_taken():
    """Its thread must find its way into the hole."""
    with pytest.raises(CannotCount) as error:
        taken(70, 110, seats=("M25 in M25",))

    assert str(error.value) == ("i3big would take the cables, but nothing seats it in the hole M25")


def test_cables_find_their_holes_whenever_they_can():
    """Against every order of holes by brute force, for all cables of four sizes in four holes."""
    holes = [(40, 60), (50, 90), (30, 45), (55, 120)]
    for count in (1, 2, 3, 4):
        for cables in itertools.product((35, 44, 57, 100), repeat=count):
            possible = any(
                all(low <= cable <= high for cable, (low, high) in zip(cables, order, strict=True))
                for order in itertools.permutations(holes, count)
            )
            found = placed(holes, [("", cable) for cable in cables])
            assert possible is (found is not None)
            if found is not None:
                assert len(set(found)) == count
                assert all(
                    low <= cable <= high for cable, (low, high) in zip(cables, found, strict=True)
                )


def test_both_ends_of_every_hole_are_thresholds():
    """Of whichever cable goes through it."""
    found, _, book = way("insert", RULE, INSERTS)
    thresholds = found.thresholds(book)

    assert {t.value for t in thresholds} == {30, 40, 50, 60, 70, 90, 110}
    assert {t.figure.terms for t in thresholds} == {(("diameter", 1),)}


def test_an_item_without_holes_is_no_insert():
    """Each fault is one line."""
    assert way("insert", 'choose = ["bolt"]\npin = "bolt"')[1] == [
        "rule: choose: expected items with holes, got 'bolt'"
    ]
    bent = [thing("bent", holes=[[60, 40]])]
    assert way("insert", 'choose = ["bent"]\npin = "bolt"', bent)[1] == [
        "items: holes: 1: expected [least, most], got [60, 40]"
    ]
