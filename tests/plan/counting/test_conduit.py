"""Conduit by fill: the smallest that takes what lies beside it, in sticks."""

import pytest

from kitting.plan import configuration, family, kit
from kitting.plan.given import CannotCount, Threshold
from kitting.plan.linear import Linear
from tests.plan.small import counted, quantities, text, thing, way


def wire(awg):
    conductor = {"awg": awg, "class": 2, "insulation": "THWN-2"}
    return thing(f"w{awg}", tracking="length", conductor=conductor)


def tube(code, **conduit):
    return thing(code, conduit=conduit)


EMT = [
    tube(f"emt{trade}", kind="EMT", trade=trade) for trade in ("1/2", "3/4", "1", "1-1/4", "1-1/2")
]
CABLE = thing("cable", tracking="length", outer=160)
LISTED = [
    *EMT,
    *map(wire, ("14", "12", "10", "8", "6", "4", "2")),
    CABLE,
    tube("m25", inner=212),
]
RULE = f"""
cables = ["w14", "w12", "w10", "w8", "w6", "w4", "w2", "cable"]
choose = {[item["code"] for item in EMT]}
couples = {{ need = "couple", of = "conduit" }}
"""


def taken(beside, length=1000, rule=RULE):
    """The one conduit given and its pieces."""
    found, (giving,) = counted("conduit", rule, LISTED, beside=beside, length=length)
    assert found == {giving.item: giving.quantity}
    return giving.item, giving.quantity


@pytest.mark.parametrize(
    ("beside", "conduit"),
    [
        # NEC annex C table C.1, THWN-2 in EMT: the printed count, then one more
        ({"w12": 9}, "emt1/2"),
        ({"w12": 10}, "emt3/4"),
        ({"w10": 5}, "emt1/2"),
        ({"w10": 6}, "emt3/4"),
        ({"w8": 6}, "emt3/4"),
        ({"w8": 7}, "emt1"),
        ({"w6": 12}, "emt1-1/4"),  # the rounded 40 % column says 11
        ({"w6": 13}, "emt1-1/2"),
        ({"w4": 1}, "emt1/2"),
        ({"w4": 2}, "emt3/4"),
        ({"w2": 1}, "emt1/2"),
        ({"w2": 3}, "emt1"),
        # chapter 9 note 6, mixed: 3 x 6 + 1 x 10 AWG fill 32.5 % of 3/4
        ({"w6": 3, "w10": 1}, "emt3/4"),
        # 3 x 2 + 1 x 6 AWG: 0.3981 in2, 26.6 % of 1-1/4, 46.1 % of 1
        ({"w2": 3, "w6": 1}, "emt1-1/4"),
        # two unlike ones: 31 %; 0.0366 + 0.0211 = 0.0577 of 0.094, 0.0824 + 0.0211 of 0.165
        ({"w8": 1, "w10": 1}, "emt1/2"),
        ({"w4": 1, "w10": 1}, "emt3/4"),
        # note 9: one cable of 16 mm is one conductor, 0.3116 in2 of 0.53 x 0.864
        ({"cable": 1}, "emt1"),
        ({"cable": 2}, "emt1-1/2"),  # 0.6233 in2 of 0.31 x 2.036 = 0.6312
    ],
)
def test_the_smallest_conduit_that_takes_them(beside, conduit):
    """By the exact rule; published counts and hand-worked rows around them."""
    assert taken(beside) == (conduit, 1)


@pytest.mark.parametrize(
    ("length", "pieces", "joints"),
    [(1, 1, 0), (3000, 1, 0), (3001, 2, 1), (6000, 2, 1), (6001, 3, 2)],
)
def test_started_sticks_are_whole_ones(length, pieces, joints):
    """Each piece after the first takes a coupling."""
    _, (giving,) = counted("conduit", RULE, LISTED, beside={"w12": 3}, length=length)

    assert giving.quantity == pieces
    assert [(r.need, r.of, r.count) for r in giving.raises] == [("couple", "conduit", joints)] * (
        joints > 0
    )


def test_the_stick_is_what_the_rule_says():
    """Ten feet are 3048 mm."""
    assert taken({"w12": 3}, 3048, RULE + "stick = 3048") == ("emt1/2", 1)
    assert taken({"w12": 3}, 3049, RULE + "stick = 3048") == ("emt1/2", 2)


def test_the_arithmetic_is_told():
    """What lies in it, how full it is, how full it may be, how many sticks."""
    _, (giving,) = counted("conduit", RULE, LISTED, beside={"w6": 3, "w10": 1}, length=7000)

    assert giving.words == (
        "1 x w10 + 3 x w6 fill 32.5 % of emt3/4, 40 % may be filled; 7000 mm / 3000 mm, rounded up"
        " = 3"
    )


def test_a_nipple_may_be_fuller():
    """Chapter 9 note 4: 60 % where it is at most 24 inch; only where the rule asks for it."""
    nipples = RULE + "nipples = true"

    assert taken({"w12": 13}, 609, nipples) == ("emt1/2", 1)
    assert taken({"w12": 13}, 610, nipples) == ("emt3/4", 1)
    assert taken({"w12": 13}, 609) == ("emt3/4", 1)


def test_a_conduit_may_be_given_by_its_inside():
    """Metric conduit is no row of the NEC's table: 21.2 mm inside take one cable of 15.4 mm at 53 %
    (15.43 mm), not of 16 mm."""
    rule = 'cables = ["cable", "thin"]\nchoose = ["m25"]'
    listed = [*LISTED, thing("thin", tracking="length", outer=154)]

    assert counted("conduit", rule, listed, beside={"thin": 1}, length=1)[0] == {"m25": 1}
    with pytest.raises(CannotCount) as refused:
        counted("conduit", rule, listed, beside={"cable": 1}, length=1)
    assert str(refused.value) == (
        "1 x cable fill 57.0 % of m25, the widest listed; 53 % may be filled"
    )


@pytest.mark.parametrize(
    ("beside", "message"),
    [
        (
            {"w2": 8},
            "8 x w2 fill 45.5 % of emt1-1/2, the widest listed; 40 % may be filled",
        ),
        ({}, "none of its cables is settled, so no conduit can be chosen"),
    ],
)
def test_where_nothing_takes_them_it_is_said(beside, message):
    """Never the widest one all the same."""
    with pytest.raises(CannotCount) as refused:
        counted("conduit", RULE, LISTED, beside=beside, length=1000)

    assert str(refused.value) == message


@pytest.mark.parametrize(
    ("old", "new", "faults"),
    [
        (
            '"w14"',
            '"emt1"',
            ["rule: cables: expected items with outer or an insulated conductor, got 'emt1'"],
        ),
        ("'emt1/2'", "'cable'", ["rule: choose: expected items with conduit, got 'cable'"]),
        ("'emt1/2'", "'reel'", ["rule: choose: expected items by the piece, got 'reel'"]),
        ("couples", "joins", None),
    ],
)
def test_a_rule_that_cannot_be_read(old, new, faults):
    """Each fault is named with its key."""
    reel = thing("reel", tracking="length", conduit={"inner": 200})
    found = way("conduit", RULE.replace(old, new), [*LISTED, reel])[1]

    assert found == faults if faults else found[0].endswith("got the key 'joins'")


@pytest.mark.parametrize(
    ("item", "fault"),
    [
        (
            tube("x", kind="EMT", trade="5/8"),
            "items: conduit: trade: expected a conduit with a published section, got EMT 5/8",
        ),
        (
            thing("x", conductor={"awg": "5", "class": 2}),
            (
                "items: conductor: awg: expected one of 14, 12, 10, 8, 6, 4, 3, 2, 1, 1/0, 2/0,"
                " 3/0, 4/0, got '5'"
            ),
        ),
        (
            thing("x", conductor={"area": 6, "class": 2, "insulation": "THWN-2"}),
            (
                "items: conductor: insulation: expected only area, awg, class, finish,"
                " got the key 'insulation'"
            ),
        ),
    ],
)
def test_an_item_that_cannot_be_read(item, fault):
    """Sizes without published figures are faults of the family."""
    assert way("conduit", RULE, [*LISTED, item])[1] == [fault]


def test_a_second_piece_is_where_the_outcome_may_change():
    """The stick, and the nipple's end; which conduit follows the cables chosen."""
    found, _, book = way("conduit", RULE + "nipples = true", LISTED)
    path = Linear(0, (("length", 1),))

    assert found.thresholds(book) == [Threshold(path, 3000), Threshold(path, 609)]


FAMILY = """
[[axis]]
name = "warm"
question = "How hot does it get around the cable?"
kind = "whole"
min = 30
max = 50
unknown = true

[[item]]
code = "w8"
name = "wire 8"
tracking = "length"
mass_g = 90
conductor = { awg = "8", class = 2, insulation = "THWN-2" }
raises = [
    { need = "terminate conductor", of = "mains", count = 2 },
    { need = "run earth", of = "in conduit" },
]

[[item]]
code = "w6"
name = "wire 6"
tracking = "length"
mass_g = 140
conductor = { awg = "6", class = 2, insulation = "THWN-2" }
raises = [
    { need = "terminate conductor", of = "mains", count = 2 },
    { need = "run earth", of = "in conduit" },
]

[[item]]
code = "w10"
name = "wire 10"
tracking = "length"
mass_g = 60
conductor = { awg = "10", class = 2, insulation = "THWN-2" }

[[item]]
code = "half"
name = "EMT 1/2"
tracking = "count"
mass_g = 900
conduit = { kind = "EMT", trade = "1/2" }

[[item]]
code = "three"
name = "EMT 3/4"
tracking = "count"
mass_g = 1400
conduit = { kind = "EMT", trade = "3/4" }

[[item]]
code = "joint"
name = "coupling"
tracking = "count"
mass_g = 40

[[item]]
code = "lug"
name = "lug"
tracking = "count"
mass_g = 3
fits = { core = [800, 1400] }

[[rule]]
name = "power"
need = "run power"
step = "connect"
way = "cable"
edition = "NEC 2023"
insulation = 90
terminal = 75
sizes = ["w8", "w6"]
system = "single phase"
current = 47
voltage = 240
drop_permille = 30
ambient = "warm"
continuous = false
each = 2

[[rule]]
name = "earth"
need = "run earth"
of = "in conduit"
way = "length"
item = "w10"

[[rule]]
name = "lugs"
need = "terminate conductor"
way = "fit"
measure = "core"
choose = ["lug"]

[[rule]]
name = "conduit"
need = "enclose cable"
of = "mains"
step = "connect"
way = "conduit"
cables = ["w8", "w6", "w10"]
choose = ["half", "three"]
couples = { need = "couple", of = "conduit" }

[[rule]]
name = "joints"
need = "couple"
of = "conduit"
way = "each"
gives = { joint = 1 }
"""


def edition(old="", new=""):
    more = FAMILY.replace(old, new)
    assert not old or more != FAMILY
    known = text(without=("cables", "ferrules", "no enclose cable", "no run earth"), more=more)
    rest = (
        'name = "no earth"\nneed = "run earth"\nof = ""\nway = "built_in"\nwhy = "in the conduit"'
    )
    return family.parse(f"{known}\n[[rule]]\n{rest}\n", "small.toml")


def work_out(warm, run=4000, known=None):
    known = known or edition()
    data = {"family": "small", "stacks": [{"modules": 1}], "wall": "brick", "od": 130}
    return kit.work_out(known, configuration.parse({**data, "run": run, "warm": warm}, known))


def lines(warm, run=4000, known=None):
    """What a kit takes at the step, by item."""
    found = quantities(work_out(warm, run, known).lines)
    return {item: n for (item, step), n in found.items() if step == "connect"}


def test_the_conduit_follows_the_conductors_chosen():
    """47 A: 8 AWG carries 55 A at 30 C, held to 50 A by its terminals; 55 x 0.82 = 45.1 A at 50 C,
    so 6 AWG. 2 x 8 + 2 x 10 AWG fill 0.1154 of 0.1216 in2 in 1/2, 2 x 6 + 2 x 10 AWG 0.1436 do
    not."""
    ends = {"w10": 8000, "lug": 4, "joint": 1}

    assert lines(30) == {"w8": 8000, "half": 2, **ends}
    assert lines(50) == {"w6": 8000, "three": 2, **ends}


def test_an_unknown_answer_opens_cable_and_conduit_together():
    """How hot it gets is not known: one question holds the cable, its ends and its conduit."""
    (question,) = work_out("unknown").unresolved

    assert question.needs == ("run power: mains", "enclose cable: mains")
    assert [
        (answer.answer, {line.item: line.quantity for line in answer.lines}, answer.refused)
        for answer in question.answers
    ] == [
        ("30 to 45", {"w8": 8000, "w10": 8000, "half": 2, "lug": 4, "joint": 1}, ()),
        ("46 to 50", {"w6": 8000, "w10": 8000, "three": 2, "lug": 4, "joint": 1}, ()),
    ]
