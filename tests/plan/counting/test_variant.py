"""Handed, coloured and sized variants: exactly one of the listed items is the one."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

COVERS = [
    thing(f"{hand}_{colour}", hand=hand, colour=colour)
    for hand in ("left", "right")
    for colour in ("white", "grey")
]
RULE = 'choose = ["left_white", "left_grey", "right_white", "right_grey"]\n'
RULE += 'by = { hand = "side", colour = "finish" }'
PANELS = [
    thing("p900", colour="white", fits={"height": [0, 900]}),
    thing("p1500", colour="white", fits={"height": [901, 1500]}),
]
SIZED = 'choose = ["p900", "p1500"]\nby = { colour = "finish" }\nmeasure = "height"'


@pytest.mark.parametrize(
    ("side", "finish", "cover"),
    [
        ("left", "white", "left_white"),
        ("left", "grey", "left_grey"),
        ("right", "white", "right_white"),
        ("right", "grey", "right_grey"),
    ],
)
def test_hand_and_colour_name_one_cover(side, finish, cover):
    """Each answer has its own item, so many per need."""
    found, givings = counted(
        "variant", RULE + "\neach = 2", COVERS, number=3, side=side, finish=finish
    )

    assert found == {cover: 6}
    assert givings[0].words == f"hand {side} and colour {finish}: {cover}; 3 x 2 {cover} = 6"


@pytest.mark.parametrize(("height", "panel"), [(900, "p900"), (901, "p1500"), (1500, "p1500")])
def test_a_height_names_one_panel(height, panel):
    """Both ends of a range are inside."""
    found, givings = counted("variant", SIZED, PANELS, height=height, finish="white")

    assert found == {panel: 1}
    assert givings[0].words == f"colour white and height {height} mm: {panel}"


def test_a_figure_may_stand_for_the_measure():
    """460 mm and 340 mm for each module: one of three modules is 1480 mm."""
    rule = SIZED + "\nvalue = { fixed = 460, modules = 340 }"

    assert counted("variant", rule, PANELS, modules=3, finish="white")[0] == {"p1500": 1}
    assert counted("variant", rule, PANELS, modules=1, finish="white")[0] == {"p900": 1}


@pytest.mark.parametrize(
    ("rule", "listed", "answers", "said"),
    [
        (
            RULE,
            COVERS,
            {"side": "left", "finish": "blue"},
            "none of left_white, left_grey, right_white, right_grey has hand left and colour blue",
        ),
        (
            SIZED,
            PANELS,
            {"height": 1501, "finish": "white"},
            "none of p900, p1500 has colour white and height 1501 mm",
        ),
        (
            'choose = ["left_white", "left_grey"]\nby = { hand = "side" }',
            COVERS,
            {"side": "left"},
            "left_white and left_grey both have hand left",
        ),
    ],
)
def test_none_and_two_are_said(rule, listed, answers, said):
    """Nothing is chosen among two, and nothing is taken for want of one."""
    with pytest.raises(CannotCount) as error:
        counted("variant", rule, listed, **answers)

    assert str(error.value) == said


def test_both_ends_of_every_range_are_thresholds():
    """The outcome changes where the height passes from one panel to the next."""
    found, _, book = way("variant", SIZED, PANELS)

    assert [t.value for t in found.thresholds(book)] == [0, 900, 901, 1500]
    assert way("variant", RULE, COVERS)[0].thresholds(book) == []


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        (
            'choose = ["left_white"]',
            "rule: by: expected what tells the variants apart, got nothing",
        ),
        (
            'choose = ["bolt"]\nby = { hand = "side" }',
            "rule: choose: expected items with a hand, got 'bolt'",
        ),
        (
            'choose = ["left_white"]\nby = { size = "side" }',
            "rule: by: size: expected one of hand, colour, got 'size'",
        ),
        (
            'choose = ["left_white"]\nmeasure = "height"',
            "rule: choose: expected items with fits.height, got 'left_white'",
        ),
    ],
)
def test_what_is_no_variant(rule, fault):
    """Each fault is one line."""
    assert fault in way("variant", rule, COVERS)[1]


def test_a_measure_that_nothing_carries_wants_its_figure():
    """Only a known name can stand for itself."""
    odd = [thing("odd", fits={"girth": [1, 2]})]

    assert way("variant", 'choose = ["odd"]\nmeasure = "girth"', odd)[1] == [
        "rule: measure: expected a known name or a value beside it, got 'girth'"
    ]
