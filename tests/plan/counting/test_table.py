"""Steps by a table: the row that is written, never one between or beyond."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, way

STEPS = """
by = ["modules"]
rows = [
  { modules = 2, gives = { bolt = 12 } },
  { modules = 3, gives = { bolt = 17 } },
  { modules = 5, gives = { bolt = 25 } },
]
"""
LENGTHS = """
by = ["wall", "length"]
upto = ["length"]
from = 100
rows = [
  { wall = "wood", length = 2000, gives = { bolt = 4 } },
  { wall = "wood", length = 1000, gives = { bolt = 2 } },
  { wall = "brick", length = 1500, gives = { bolt = 9 } },
]
"""


@pytest.mark.parametrize(("modules", "bolts"), [(2, 12), (3, 17), (5, 25)])
def test_table_takes_the_row(modules, bolts):
    """Quantities need not be linear in the modules."""
    assert counted("table", STEPS, modules=modules)[0] == {"bolt": bolts}


@pytest.mark.parametrize("modules", [1, 4, 6])
def test_table_never_stretches(modules):
    """Below, between and beyond the rows is an error that names the input."""
    with pytest.raises(CannotCount, match=f"no row for modules {modules}"):
        counted("table", STEPS, modules=modules)


@pytest.mark.parametrize(
    ("wall", "length", "bolts"),
    [
        ("wood", 100, 2),  # the least
        ("wood", 1000, 2),  # on the edge of a row
        ("wood", 1001, 4),  # just over it
        ("wood", 2000, 4),  # the last edge
        ("brick", 1500, 9),  # the other column
    ],
)
def test_table_goes_up_to_its_figure(wall, length, bolts):
    """A row of an `upto` name holds up to its figure, whatever order rows are written in."""
    assert counted("table", LENGTHS, wall=wall, length=length)[0] == {"bolt": bolts}


@pytest.mark.parametrize(("wall", "length"), [("wood", 99), ("wood", 2001), ("brick", 1501)])
def test_table_ends_at_its_last_row(wall, length):
    """Below the least and beyond the last figure there is no row."""
    with pytest.raises(CannotCount, match=f"no row for wall {wall}, length {length}"):
        counted("table", LENGTHS, wall=wall, length=length)


TWO_WAY = """
by = ["height", "stud"]
upto = ["height", "stud"]
rows = [
  { height = 900, stud = 400, gives = { bolt = 4 } },
  { height = 900, stud = 610, gives = { bolt = 6 } },
  { height = 1500, stud = 400, gives = { bolt = 8 } },
  { height = 1500, stud = 610, gives = { bolt = 10 } },
]
"""


@pytest.mark.parametrize(
    ("height", "stud", "bolts"),
    [
        (900, 400, 4),
        (901, 400, 8),
        (900, 401, 6),
        (901, 401, 10),
        (1, 1, 4),
        (1500, 610, 10),
    ],
)
def test_a_table_of_two_ways_goes_up_to_both_figures(height, stud, bolts):
    """By height of the stack and stud pitch: the tightest row in both holds."""
    assert counted("table", TWO_WAY, height=height, stud=stud)[0] == {"bolt": bolts}


@pytest.mark.parametrize(("height", "stud"), [(1501, 400), (900, 611), (1501, 611)])
def test_a_table_of_two_ways_ends_on_both(height, stud):
    """Beyond either last figure there is no row."""
    with pytest.raises(CannotCount) as error:
        counted("table", TWO_WAY, height=height, stud=stud)

    assert str(error.value) == f"the table has no row for height {height}, stud {stud}"


def test_a_table_of_two_ways_leaves_no_choice():
    """Up to (900, 610) and up to (1500, 400) both hold at (900, 400): which one is not guessed."""
    gap = TWO_WAY.replace("  { height = 900, stud = 400, gives = { bolt = 4 } },\n", "")

    assert way("table", gap)[1] == [
        "rule: rows: expected a row for (900, 400): (900, 610) and (1500, 400) both hold there"
    ]


@pytest.mark.parametrize(("stacks", "modules", "bolts"), [(1, 2, 3), (2, 2, 5), (2, 3, 7)])
def test_a_table_by_stacks_and_modules(stacks, modules, bolts):
    """Two counts, each exactly."""
    rule = 'by = ["stacks", "modules"]\nrows = [\n'
    for key in ((1, 2, 3), (2, 2, 5), (2, 3, 7)):
        rule += "{{ stacks = {}, modules = {}, gives = {{ bolt = {} }} }},\n".format(*key)

    assert counted("table", rule + "]", stacks=stacks, modules=modules)[0] == {"bolt": bolts}
    with pytest.raises(CannotCount, match="the table has no row for stacks 1, modules 3"):
        counted("table", rule + "]", stacks=1, modules=3)


@pytest.mark.parametrize("stud", [400, 600, 813])
def test_a_table_by_stud_pitch_takes_only_the_pitches_written(stud):
    """400, 600 and 813 mm are pitches; a wall of 500 mm has no row."""
    rule = 'by = ["stud"]\nrows = [\n'
    for pitch in (400, 600, 813):
        rule += f"{{ stud = {pitch}, gives = {{ bolt = {pitch // 100} }} }},\n"

    assert counted("table", rule + "]", stud=stud)[0] == {"bolt": stud // 100}
    with pytest.raises(CannotCount, match="the table has no row for stud 500"):
        counted("table", rule + "]", stud=500)


def test_every_figure_of_a_table_is_a_threshold():
    """Both columns, and the lowest figure of the first row."""
    found, _, book = way("table", TWO_WAY)
    figures = {(t.figure.terms[0][0], t.value) for t in found.thresholds(book)}

    assert figures == {
        *(("height", 0), ("height", 900), ("height", 1500)),
        *(("stud", 0), ("stud", 400), ("stud", 610)),
    }


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        ('by = ["modules"]', "rule: rows: expected at least one row, got none"),
        (
            'by = ["moon"]\nrows = [{ moon = 1, gives = { bolt = 1 } }]',
            "expected one of bearing_mm, circuits",
        ),
        (STEPS.replace("modules = 3", "modules = 2"), "expected one row for (2,), got 2"),
        (STEPS.replace("modules = 3", "modules = 2.5"), "expected a number or a text, got 2.5"),
    ],
)
def test_table_refuses(rule, fault):
    """A table without rows, with a row twice or with half a module is a fault."""
    assert fault in way("table", rule)[1][0]
