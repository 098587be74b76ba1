"""The smallest conductor that carries the current and keeps the drop, in one piece."""

import pytest

from kitting.plan.conductors import IEC
from kitting.plan.given import CannotCount, Threshold
from kitting.plan.linear import Linear
from tests.plan.small import counted, thing, way


def cable(code, **conductor):
    return thing(code, tracking="length", conductor={"class": 5, **conductor})


CABLES = [
    cable(code, area=area) for code, area in (("c25", 2.5), ("c4", 4), ("c6", 6), ("c10", 10))
]
RULE = """
sizes = ["c10", "c6", "c4", "c25"]
system = "single phase"
current = 20
voltage = 230
drop_permille = 10
method = "C"
continuous = false
allowance = 500
"""
SHORT = 1000
"""mm: every size keeps the drop."""


@pytest.mark.parametrize(
    ("length", "size"),
    [
        (1000, "c25"),  # 27 A carry 20 A, the run is short
        (5520, "c25"),  # 2.3 V / (2 x 20 A x 9.548 ohm/km) = 6022 mm of cut length
        (5522, "c25"),
        (5523, "c4"),
        (9208, "c4"),  # 2.3 / (40 x 5.9227) = 9708 mm
        (9209, "c6"),
        (14062, "c6"),  # 2.3 / (40 x 3.9485) = 14562 mm
        (14063, "c10"),
    ],
)
def test_the_smallest_size_within_the_drop_is_taken(length, size):
    """The drop at 70 C over the cut length decides, each size to its last millimetre."""
    assert counted("cable", RULE, CABLES, length=length)[0] == {size: length + 500}


def test_the_arithmetic_is_told():
    """A fitter reads the load, what the conductor carries, how far it keeps the drop."""
    rule = RULE.replace("= false", "= true") + 'ambient = 40\ngrouped = "circuits"'
    _, (giving,) = counted("cable", rule, CABLES, length=7000, circuits=3)

    assert giving.words == (
        "20 A x 1.25 = 25 A; 6 mm2 carries 46 A x 0.87 at 40 C x 0.7 for 3 circuits together ="
        " 28.014 A and keeps the drop of 2.3 V up to 14562 mm; 7000 mm + 500 mm for the ends ="
        " 7500 mm, in one piece"
    )


def test_a_run_is_one_piece():
    """Two runs are two pieces, never one sum; a 7 m need is one piece of 7 m."""
    _, givings = counted("cable", RULE, CABLES, number=2, length=7000)

    assert (givings[0].quantity, givings[0].pieces) == (15000, (7500, 7500))


def test_cores_that_lie_by_themselves_are_a_piece_each():
    """Three single conductors for one run are three pieces of its length."""
    _, givings = counted("cable", RULE + "each = 3", CABLES, length=7000)

    assert (givings[0].quantity, givings[0].pieces) == (22500, (7500, 7500, 7500))


@pytest.mark.parametrize(
    ("current", "other", "size"),
    [
        (24, 0, "c4"),  # 24 x 1.25 = 30 A, beyond the 27 A of 2.5 mm2
        (28, 0, "c4"),  # 35 A of 36 A
        (29, 0, "c6"),  # 36.25 A
        (30, 8, "c6"),  # 30 x 1.25 + 8 = 45.5 A of 46 A
        (30, 10, "c10"),  # 47.5 A: the worked mixed load of NEC 210.20(A)
    ],
)
def test_a_continuous_load_counts_a_quarter_more(current, other, size):
    """NEC 210.19(A)(1): 1.25 x continuous + other."""
    rule = RULE.replace("= 20", f"= {current}\nother = {other}").replace("= false", "= true")

    assert counted("cable", rule, CABLES, length=SHORT)[0] == {size: 1500}


def test_the_other_load_counts_for_the_drop_as_it_is():
    """20 A + 10 A: 2.3 V / (2 x 30 A x 5.9227 ohm/km) = 6472 mm of 4 mm2, not those of 35 A."""
    rule = RULE + "other = 10"

    assert counted("cable", rule, CABLES, length=5972)[0] == {"c4": 6472}
    assert counted("cable", rule, CABLES, length=5973)[0] == {"c6": 6473}


@pytest.mark.parametrize(
    ("warm", "circuits", "size"),
    [  # 20 A; 2.5 mm2 27 A, 4 mm2 36 A, 6 mm2 46 A, 10 mm2 63 A
        (20, 1, "c25"),  # a cool place is not used to take less
        (30, 1, "c25"),
        (40, 1, "c25"),  # 27 x 0.87 = 23.5
        (46, 1, "c4"),  # judged as 50 C: 27 x 0.71 = 19.2; 36 x 0.71 = 25.6
        (40, 2, "c4"),  # 27 x 0.87 x 0.80 = 18.8; 36 x 0.87 x 0.80 = 25.1
        (40, 4, "c4"),  # 36 x 0.87 x 0.65 = 20.4
        (40, 5, "c6"),  # 36 x 0.87 x 0.60 = 18.8; 46 x 0.87 x 0.60 = 24.0
        (60, 4, "c10"),  # 46 x 0.50 x 0.65 = 15.0; 63 x 0.50 x 0.65 = 20.5
    ],
)
def test_heat_and_company_lower_what_it_carries(warm, circuits, size):
    """IEC 60364-5-52 tables B.52.14 and B.52.17, each case by hand; asked on the site."""
    rule = RULE + 'ambient = "warm"\ngrouped = "circuits"'
    found = counted("cable", rule, CABLES, length=SHORT, warm=warm, circuits=circuits)[0]

    assert found == {size: 1500}


@pytest.mark.parametrize(
    ("current", "size"),
    [(49, "c10"), (50, "c16")],  # a machine manual: 10 mm2, C, three loaded, 40 C: below 50 A
)
def test_a_published_worked_size(current, size):
    """57 A x 0.87 = 49.59 A, stored machine manual prints "< 50 A"."""
    rule = RULE.replace("= 20", f"= {current}").replace("single", "three") + "ambient = 40"
    listed = [*CABLES, cable("c16", area=16)]
    rule = rule.replace('"c25"]', '"c25", "c16"]')

    assert counted("cable", rule, listed, length=SHORT)[0] == {size: 1500}


@pytest.mark.parametrize(
    ("more", "current", "size"),
    [  # single phase, C: 6 mm2 PVC 46 A, XLPE 58 A (B.52.3, from memory)
        ("", 46, "c6"),
        ("", 47, "c10"),
        ('insulation = "XLPE"', 47, "c10"),  # its terminals bear 70 C: read as PVC
        ('insulation = "XLPE"\nterminal = 90', 58, "c6"),
        ('insulation = "XLPE"\nterminal = 90', 59, "c10"),
        ('insulation = "XLPE"\nterminal = 90\nambient = 50', 47, "c6"),  # 58 x 0.82 = 47.56
        ('insulation = "XLPE"\nterminal = 90\nambient = 50', 48, "c10"),
    ],
)
def test_insulation_counts_where_the_terminals_bear_it(more, current, size):
    """90 C in the conductor needs terminals for 90 C."""
    rule = RULE.replace("= 20", f"= {current}") + more

    assert counted("cable", rule, CABLES, length=SHORT)[0] == {size: 1500}


def test_a_hotter_conductor_loses_more():
    """XLPE at 90 C: 2.3 V / (40 A x 7.98 x 1.2751 ohm/km) = 5650 mm, where PVC reaches 6022 mm."""
    rule = RULE + 'insulation = "XLPE"\nterminal = 90'

    assert counted("cable", rule, CABLES, length=5150)[0] == {"c25": 5650}
    assert counted("cable", rule, CABLES, length=5151)[0] == {"c4": 5651}


def test_tinned_strands_lose_more():
    """IEC 60228 table 3: 8.21 ohm/km tinned, 7.98 plain; 2.3 V / (40 x 8.21 x 1.1965) = 5853 mm."""
    tinned = [cable("c25", area=2.5, finish="tinned"), *CABLES[1:]]

    assert counted("cable", RULE, tinned, length=5353)[0] == {"c25": 5853}
    assert counted("cable", RULE, tinned, length=5354)[0] == {"c4": 5854}


SIZES = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")
WIRES = [cable(f"w{awg}", awg=awg, **{"class": 2}) for awg in SIZES]
NEC_RULE = f"""
edition = "NEC 2023"
insulation = 75
terminal = 75
sizes = {[f"w{awg}" for awg in SIZES]}
system = "single phase"
current = 24
voltage = 240
drop_permille = 50
continuous = false
"""


def nec(length=SHORT, **changes):
    """The size taken by the NEC's tables, keys changed or added."""
    keys = dict(line.split(" = ", 1) for line in NEC_RULE.strip().splitlines())
    keys |= {
        key: f'"{value}"' if key == "edition" else str(value) for key, value in changes.items()
    }
    rule = "\n".join(f"{key} = {value}" for key, value in keys.items())
    taken = counted("cable", rule.replace("= True", "= true"), WIRES, length=length)[0]
    assert list(taken.values()) == [length]
    return next(iter(taken))[1:]


@pytest.mark.parametrize(
    ("length", "permille", "awg"),
    [  # 10 AWG at 75 C: 6 V / (2 x 24 A x 3.970 ohm/km) = 31488 mm; 5.76 V = 30228 mm
        (30480, 25, "10"),  # worked: 240 V, 24 A, 100 ft, 10 AWG: 5.81 V, 2.42 %
        (30480, 24, "8"),
    ],
)
def test_a_worked_drop_in_feet(length, permille, awg):
    """NEC chapter 9 table 8; 24 A continuous are 30 A, the most a 10 AWG may be fused with."""
    assert nec(length, drop_permille=permille, continuous=True) == awg


@pytest.mark.parametrize(
    ("changes", "awg"),
    [
        # worked: 12 AWG, 75 C, at 40 C: 25 x 0.88 = 22 A; but its device is 20 A at most
        ({"current": 20, "ambient": 40}, "12"),
        ({"current": 21, "ambient": 40}, "10"),
        # 10 AWG: 35 A by the table, 30 A by 240.4(D)
        ({"current": 30}, "10"),
        ({"current": 31}, "8"),
        # 310.16 x 310.15(B) x 310.15(C): 6 AWG 90 C at 40 C, four conductors: 54.6 A
        ({"insulation": 90, "ambient": 40, "grouped": 4, "current": 54}, "6"),
        ({"insulation": 90, "ambient": 40, "grouped": 4, "current": 55}, "4"),
        # 110.14(C): 6 AWG carries 75 A at 90 C, its terminals 65 A at 75 C, 55 A at 60 C
        ({"insulation": 90, "terminal": 90, "current": 75}, "6"),
        ({"insulation": 90, "current": 65}, "6"),
        ({"insulation": 90, "current": 66}, "4"),
        ({"insulation": 90, "terminal": 60, "current": 55}, "6"),
        ({"insulation": 90, "terminal": 60, "current": 56}, "4"),
        # trap: the 2011 edition changed 3 AWG and 1 AWG at 90 C
        ({"insulation": 90, "terminal": 90, "current": 112, "edition": "NEC 2008"}, "2"),
        ({"insulation": 90, "terminal": 90, "current": 112, "edition": "NEC 2011"}, "3"),
        ({"insulation": 90, "terminal": 90, "current": 147, "edition": "NEC 2008"}, "1"),
        ({"insulation": 90, "terminal": 90, "current": 147, "edition": "NEC 2011"}, "1/0"),
        # 48 A continuous -> 60 A: 6 AWG of 65 A
        ({"current": 48, "continuous": True}, "6"),
    ],
)
def test_sizes_by_the_nec(changes, awg):
    """Published examples of engineering handbooks and hand-worked rows around them."""
    assert nec(**changes) == awg


def test_what_holds_a_conductor_down_is_told():
    """Terminals and the rule for small conductors are named where they decide."""
    told = {}
    for current in (30, 50):
        rule = NEC_RULE.replace("= 24", f"= {current}").replace(
            "insulation = 75", "insulation = 90"
        )
        told[current] = counted("cable", rule, WIRES, length=SHORT)[1][0].words.split(" and ")[0]

    assert told == {
        30: "30 A; 10 AWG carries 40 A, held to 30 A by the rule for small conductors",
        50: "50 A; 8 AWG carries 55 A, held to 50 A by its terminals at 75 C",
    }


def test_terminals_are_taken_for_the_coolest_unless_said():
    """NEC 110.14(C)(1)(a): 60 C up to 100 A, where the equipment is not marked for more."""
    rule = NEC_RULE.replace("terminal = 75\n", "").replace("= 24", "= 45")

    assert counted("cable", rule, WIRES, length=SHORT)[0] == {"w6": 1000}  # 8 AWG: 40 A at 60 C


@pytest.mark.parametrize(
    ("rule", "answers", "message"),
    [
        (
            RULE,
            {"length": 30000},
            (
                "no listed conductor carries 20 A over 30500 mm with 2.3 V of drop; 10 mm2 carries"
                " 63 A and keeps the drop up to 25160 mm"
            ),
        ),
        (
            RULE + 'ambient = "warm"',
            {"length": 1000, "warm": 61},
            "no published factor for ambient C 61; the table ends at 60",
        ),
        (
            RULE + 'grouped = "circuits"',
            {"length": 1000, "circuits": 21},
            "no published factor for circuits together 21; the table ends at 20",
        ),
        (
            RULE + 'ambient = "warm"',
            {"length": 1000, "warm": "hot"},
            "expected a number for ambient C from 'warm', got 'hot'",
        ),
        (
            RULE + 'ambient = "warm"',
            {"length": 1000},
            "expected a number for ambient C from 'warm', got nothing",
        ),
    ],
)
def test_where_there_is_no_figure_none_is_made_up(rule, answers, message):
    """Beyond the largest size, beyond a table, without an answer: said, never the nearest."""
    with pytest.raises(CannotCount) as refused:
        counted("cable", rule, CABLES, **answers)

    assert str(refused.value) == message


NO = "rule: sizes: expected cables with published figures, got 'c10': "


@pytest.mark.parametrize(
    ("rule", "tenth", "faults"),
    [
        (
            RULE,
            {"area": 7},
            [NO + "no published figure for 7 mm2, method C, 2 loaded, PVC"],
        ),
        (
            RULE,
            {"area": 120},  # a resistance is published, an ampacity is not taken over
            [NO + "no published figure for 120 mm2, method C, 2 loaded, PVC"],
        ),
        (RULE, {"awg": "8"}, [NO + "8 AWG is in no IEC table"]),
        (
            RULE,
            {"area": 10, "finish": "tinned", "class": 2},
            [NO + "no published figure for 10 mm2, class 2, tinned"],
        ),
        (
            RULE.replace('method = "C"', 'edition = "NEC 2020"\ninsulation = 90'),
            {"awg": "8"},
            [
                f"rule: sizes: expected cables with published figures, got {code!r}: {size} mm2 is"
                " in no NEC table"
                for code, size in (("c6", "6"), ("c4", "4"), ("c25", "2.5"))
            ],
        ),
    ],
)
def test_a_size_without_published_figures_is_a_fault(rule, tenth, faults):
    """0 is no figure: the family is refused when it is read, not the kit on the day."""
    assert way("cable", rule, [*CABLES[:3], cable("c10", **tenth)])[1] == faults


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('"c25"]', '"bolt"]', "rule: sizes: expected cables with a conductor, got 'bolt'"),
        (
            'method = "C"',
            'method = "C"\nedition = "NEC 1999"',
            (
                f"rule: edition: expected one of {IEC}, NEC 2005, NEC 2008, NEC 2011, NEC 2014,"
                " NEC 2017, NEC 2020, NEC 2023, got 'NEC 1999';"
                " did you mean 'NEC 2017' or 'NEC 2014' or 'NEC 2011'?"
            ),
        ),
        (
            'method = "C"',
            'method = "C"\nterminal = 75',
            "rule: terminal: expected one of 70, 90, got 75",
        ),
        (
            'method = "C"',
            'method = "C"\nambient = 65',
            "rule: ambient: expected at most 60, got 65",
        ),
        (
            'method = "C"',
            'method = "C"\nambient = "garage"',
            "rule: ambient: expected a number, a known name or factors, got 'garage'",
        ),
        (
            'method = "C"',
            'method = "C"\ninsulation = "rubber"',
            "rule: insulation: expected one of PVC, XLPE, got 'rubber'",
        ),
    ],
)
def test_a_rule_that_cannot_be_read(old, new, fault):
    """Each fault is named with its key."""
    assert fault in way("cable", RULE.replace(old, new), CABLES)[1]


def test_the_nec_has_no_method_and_needs_a_column():
    """Keys of the other code are faults, never silence."""
    faults = way("cable", RULE + 'edition = "NEC 2023"', CABLES)[1]

    assert faults[0] == "rule: insulation: expected one of 60, 75, 90, got nothing"
    assert faults[-1].endswith("got the key 'method'")


def test_every_place_where_the_size_may_change_is_told():
    """The longest run of every size, and each step of ambient and grouping."""
    rule = RULE + 'ambient = "warm"\ngrouped = { circuits = 2, fixed = 1 }'
    found, _, book = way("cable", rule, CABLES)
    held = found.thresholds(book)
    run, warm = Linear(0, (("length", 1),)), Linear(0, (("warm", 1),))

    assert [t.value for t in held if t.figure == run] == [5522, 9208, 14062, 24660]
    assert [t.value for t in held if t.figure == warm] == [30, 35, 40, 45, 50, 55, 60]
    assert Threshold(Linear(1, (("circuits", 2),)), 16) in held
