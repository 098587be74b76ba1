"""The shortest anchor that reaches through the layers and holds in what bears.

Worked by hand. Published beside it: the hole goes 1/2 in deeper than the embedment (rule of thumb
of an anchor maker's guide, fast.anchor.hole of the engineering rows; the approval goes first).
"""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

SHEET = {"length": 80, "hole": 10, "embed": 60, "behind": 30, "holds": ["solid", "concrete"]}
PLUG = {"length": 100, "hole": 8, "embed": 50, "deeper": 10, "behind": 20, "flush": True}
ANCHORS = [
    thing("a80", anchor=SHEET),
    thing("a120", anchor={**SHEET, "length": 120}),
    thing("plug", anchor={**PLUG, "holds": ["hollow"]}),
    thing("screw", anchor={**SHEET, "hole": 0, "behind": 0, "holds": ["timber"]}),
]
RULE = """
fixture = 6
layers = [
  { thickness = "covering" },
  { thickness = { fixed = 2, plaster = 1 } },
  { material = "wall", thickness = "bearing_mm" },
]
choose = ["a120", "a80", "plug", "screw"]
"""


def held(wall="solid", covering=0, plaster=0, bearing_mm=200, **more):
    """What one wall takes."""
    where = {"wall": wall, "covering": covering, "plaster": plaster, "bearing_mm": bearing_mm}
    return counted("anchor", RULE, ANCHORS, **where, **more)


@pytest.mark.parametrize(
    ("wall", "answers", "anchor"),
    [
        # 6 + front + 60 <= 80: the layers in front are at most 14 mm, 2 mm of them always there.
        ("solid", {"covering": 0}, "a80"),
        ("solid", {"covering": 12}, "a80"),
        ("solid", {"covering": 13}, "a120"),
        ("solid", {"covering": 6, "plaster": 6}, "a80"),
        ("solid", {"covering": 6, "plaster": 7}, "a120"),
        ("solid", {"covering": 52}, "a120"),  # 6 + 54 + 60 = 120
        ("concrete", {"covering": 12}, "a80"),
        ("solid", {"bearing_mm": 90}, "a80"),  # 60 in it and 30 behind
        # 100 - 6 = 94 go in, 10 deeper, 20 behind: 124 mm less the 2 mm in front.
        ("hollow", {"bearing_mm": 122}, "plug"),
        ("hollow", {"bearing_mm": 120, "plaster": 2}, "plug"),
        ("hollow", {"covering": 42}, "plug"),  # 6 + 44 + 50 = 100
    ],
)
def test_the_shortest_that_holds_is_taken(wall, answers, anchor):
    """Long enough for the fixture, the layers and its embedment, in a material it is for."""
    assert held(wall, **answers)[0] == {anchor: 1}


@pytest.mark.parametrize(
    ("wall", "answers", "said"),
    [
        (
            "solid",
            {"covering": 53},
            (
                "no anchor for solid holds here: a80 is 80 mm long, 121 mm are wanted;"
                " a120 is 120 mm long, 121 mm are wanted"
            ),
        ),
        (
            "solid",
            {"bearing_mm": 89},
            (
                "no anchor for solid holds here: a80 wants 90 mm of solid, there are 89 mm;"
                " a120 wants 90 mm of solid, there are 89 mm"
            ),
        ),
        (
            "hollow",
            {"bearing_mm": 121},
            "no anchor for hollow holds here: plug wants 122 mm of hollow, there are 121 mm",
        ),
        (
            "hollow",
            {"covering": 43},
            "no anchor for hollow holds here: plug is 100 mm long, 101 mm are wanted",
        ),
        ("clay", {}, "none of screw, a80, plug, a120 is for clay"),
    ],
)
def test_where_none_holds_each_says_why(wall, answers, said):
    """One millimetre too much in front or too little behind: nothing is taken, all is told."""
    with pytest.raises(CannotCount) as error:
        held(wall, **answers)

    assert str(error.value) == said


@pytest.mark.parametrize(
    ("wall", "covering", "drill", "depth"),
    [
        ("solid", 10, "10 mm", 72),  # 12 in front + 60
        ("hollow", 10, "8 mm", 104),  # 100 - 6 + 10
    ],
)
def test_each_anchor_wants_its_hole(wall, covering, drill, depth):
    """The hole is as wide as the anchor asks, and what it raises carries how deep it is drilled."""
    _, givings = held(wall, covering=covering, number=4)

    assert [(r.need, r.of, r.count) for r in givings[0].raises] == [("drill", drill, 4)]
    assert givings[0].carries == {"depth": depth}


def test_a_screw_that_wants_no_hole_drills_none():
    """A hole of 0 mm is none."""
    _, givings = held("timber")

    assert (givings[0].item, givings[0].raises) == ("screw", ())


def test_the_hole_goes_half_an_inch_beyond_the_embedment():
    """fast.anchor.hole: 1/2 in = 12.7 mm, in whole mm 13: 60 mm of embedment, 73 mm of hole."""
    deeper = [thing("a80", anchor={**SHEET, "deeper": 13})]
    rule = RULE.replace('["a120", "a80", "plug", "screw"]', '["a80"]').replace("fixed = 2, ", "")
    where = {"wall": "solid", "covering": 0, "plaster": 0}
    _, givings = counted("anchor", rule, deeper, **where, bearing_mm=103)

    assert givings[0].carries["depth"] - SHEET["embed"] >= 12.7
    with pytest.raises(CannotCount, match="a80 wants 103 mm of solid, there are 102 mm"):
        counted("anchor", rule, deeper, **where, bearing_mm=102)


def test_the_reason_is_the_whole_sum():
    """A fitter can follow it layer by layer."""
    _, givings = counted(
        "anchor",
        RULE + "each = 2",
        ANCHORS,
        number=3,
        wall="solid",
        covering=10,
        plaster=0,
        bearing_mm=150,
    )

    assert givings[0].quantity == 6
    assert givings[0].words == (
        "6 mm held + 12 mm in front + 60 mm in solid = 78 mm; a80 is 80 mm long; 150 mm of solid,"
        " 90 mm stay behind the hole; hole 10 mm wide, 72 mm deep; 3 x 2 a80 = 6"
    )


def test_a_material_may_be_written_instead_of_asked():
    """A floor is concrete whatever the wall is."""
    rule = RULE.replace('material = "wall"', 'material = "concrete"')

    assert counted("anchor", rule, ANCHORS, covering=0, plaster=0, bearing_mm=90)[0] == {"a80": 1}


def test_where_an_anchor_becomes_too_short_or_a_wall_too_thin_is_a_threshold():
    """Reach over fixture and layers in front; what bears, and for a flush one all of them."""
    found, _, book = way("anchor", RULE, ANCHORS)
    thresholds = {
        (tuple(sorted(name for name, _ in t.figure.terms)), t.value - t.figure.fixed)
        for t in found.thresholds(book)
    }

    assert thresholds == {
        (("covering", "plaster"), 12),  # 80 - 60 - 6 - 2
        (("covering", "plaster"), 52),
        (("covering", "plaster"), 42),
        (("bearing_mm",), 90),
        (("bearing_mm",), 60),
        (("bearing_mm", "covering", "plaster"), 122),
    }


def test_what_the_hole_s_depth_hangs_on_is_told():
    """Layers in front and embedment; for a flush one its length less the fixture."""
    found, _, book = way("anchor", RULE, ANCHORS)
    depths = {(f.fixed, f.terms) for f, _, _ in found.carried(book)["depth"]}

    layers = (("covering", 1), ("plaster", 1))
    assert depths == {(62, layers), (104, ())}


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (
            'material = "wall", ',
            "",
            "rule: layers: expected layers of which the last, and only it, has a material",
        ),
        (
            '{ thickness = "covering" }',
            '{ thickness = "covering", material = "wall" }',
            "rule: layers: expected layers of which the last, and only it, has a material",
        ),
        (
            'material = "wall"',
            'material = "cheese"',
            "rule: layers: expected an axis or a held material, got 'cheese'",
        ),
        ('"screw"', '"bolt"', "rule: choose: expected items with an anchor's figures, got 'bolt'"),
        (
            '"screw"',
            '"moon"',
            "rule: choose: expected one of bolt, a80, a120, plug, screw, got 'moon'",
        ),
    ],
)
def test_what_is_no_wall_and_no_anchor(old, new, fault):
    """Each fault is one line."""
    assert old in RULE
    assert way("anchor", RULE.replace(old, new), ANCHORS)[1] == [fault]


def test_an_anchor_is_not_deeper_in_than_it_is_long():
    """A misprinted sheet is a fault."""
    long = [thing("long", anchor={**SHEET, "embed": 81})]
    rule = 'fixture = 6\nlayers = [{ material = "solid", thickness = 200 }]\nchoose = ["long"]'

    assert way("anchor", rule, long)[1] == [
        "items: anchor: embed: expected at most the length 80, got 81"
    ]
