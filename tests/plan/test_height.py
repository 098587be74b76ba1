"""The height of a stack can be asked for as its modules are."""

import pytest

from kitting.plan import breakpoints, proof
from kitting.plan.errors import FamilyError
from tests.plan.small import edition, quantities, work_out

HEAD = '[[shape]]\nkind = "head"\nwidth = 600\nheight = 250\ndepth = 200\nitem = "module"\n'
HEAD += 'when = { wall = ["brick"] }\n'
STRAPS = """
[[rule]]
name = "straps"
need = "restrain"
step = "fix"
way = "each"
gives = { screw = 1 }
per = { fixed = -600, height = 1 }
every = 100
"""
TABLE = """
[[rule]]
name = "straps"
need = "restrain"
step = "fix"
way = "table"
by = ["height"]
upto = ["height"]
rows = [{ height = 550, gives = { screw = 2 } }, { height = 1149, gives = { screw = 3 } }]
"""
SYSTEM = """
[[rule]]
name = "plate"
need = "label"
step = "cover"
way = "each"
gives = { screw = 1 }
when = { height = { min = 1150 } }

[[rule]]
name = "low"
need = "label"
way = "built_in"
why = "it is low"
when = { height = { max = 1149 } }
"""


@pytest.mark.parametrize(
    ("wall", "modules", "screws"),
    [
        # 300 mm each, and 250 mm of head on brick only.
        ("brick", 2, 3),  # 850 - 600 = 250 / 100 -> 3
        ("brick", 3, 6),  # 1150 - 600 = 550 / 100 -> 6
        ("wood", 2, 0),  # 600 - 600
    ],
)
def test_a_figure_grows_with_the_height_of_its_stack(wall, modules, screws):
    """Outlines one on another, from foot to top, whatever question decides the outline."""
    known = edition(without=("no restrain",), more=HEAD + STRAPS)
    found = quantities(work_out(known, wall=wall, stacks=[{"modules": modules}]).lines)

    assert found["screw", "fix"] == 2 + screws  # two hold the bracket


def test_a_figure_below_nought_is_refused():
    """300 mm - 600 mm: a count below 0 is a slip of the list, never silence."""
    known = edition(without=("no restrain",), more=HEAD + STRAPS)
    refused = work_out(known, wall="wood", stacks=[{"modules": 1}]).refused

    assert [refusal.message for refusal in refused] == [
        "restrain (stack 1): expected a count of 0 or more, got -300"
    ]


def test_a_need_of_the_whole_system_sees_the_tallest():
    """Three modules and a head are 1150 mm; one stack of them is enough."""
    known = edition(without=("no label",), more=HEAD + SYSTEM)
    tall = work_out(known, stacks=[{"modules": 1}, {"modules": 3}])
    low = work_out(known, stacks=[{"modules": 2}, {"modules": 2}])

    assert quantities(tall.lines)["screw", "cover"] == 1
    assert ("screw", "cover") not in quantities(low.lines)


def test_the_check_finds_the_height_that_a_table_leaves_out():
    """Two rows up to 1149 mm: three modules and a head on brick are 1150 mm."""
    known = edition(without=("no restrain",), more=HEAD + TABLE)
    faults = proof.check(known).faults

    assert [fault.message for fault in faults] == [
        "restrain (stack 1): the table has no row for height 1150"
    ]
    assert faults[0].example["wall"] == "brick"
    assert faults[0].example["stacks"] == [{"modules": 3}]
    assert work_out(known, wall="wood", stacks=[{"modules": 2}]).refused == ()


def test_a_length_beside_the_height_is_walked_at_its_figure():
    """run - height > 2500 changes the row: each height gives its own figure of `run`."""
    rule = '[[rule]]\nname = "lead"\nneed = "link power"\nstep = "join"\nway = "fit"\n'
    rule += 'measure = "length"\nvalue = { run = 1, height = -1 }\nchoose = ["lead"]\n'
    item = '[[item]]\ncode = "lead"\nname = "lead"\ntracking = "count"\nmass_g = 1\n'
    item += "fits = { length = [0, 2500] }\n"
    known = edition(without=("no link power",), more=HEAD + item + rule)
    walked = set(breakpoints.walked(known, known.axes["run"]))
    heights = {0, 300, 600, 900, 250, 550, 850, 1150}

    assert {2500 + height + d for height in heights for d in (-1, 0, 1)} <= walked


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        (
            (
                '[[axis]]\nname = "x"\nquestion = "?"\nkind = "whole"\nmin = 0\nmax = 1\n'
                "when = { height = { min = 1 } }"
            ),
            (
                "small.toml: axis 'x': when: height: expected one of job, modules, run, stacks,"
                " total_modules, wall, got 'height'"
            ),
        ),
        (
            HEAD.replace('wall = ["brick"]', "height = { min = 1 }"),
            (
                "small.toml: shape 2: when: height: expected one of cables, core, depth, diameter,"
                " hole, job, length, modules, od, run, stack, stacks, strands, total_modules,"
                " trade, wall, got 'height'"
            ),
        ),
    ],
)
def test_what_the_height_hangs_on_cannot_hang_on_the_height(more, fault):
    """Questions and outlines come before the height."""
    with pytest.raises(FamilyError) as error:
        edition(more=more)

    assert str(error.value) == fault
