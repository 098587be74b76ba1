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


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        ('by = ["modules"]', "rule: rows: expected at least one row, got none"),
        ('by = ["moon"]\nrows = [{ moon = 1, gives = { bolt = 1 } }]', "expected a known name"),
        (STEPS.replace("modules = 3", "modules = 2"), "expected one row for (2,), got 2"),
        (STEPS.replace("modules = 3", "modules = 2.5"), "expected a number or a text, got 2.5"),
    ],
)
def test_table_refuses(rule, fault):
    """A table without rows, with a row twice or with half a module is a fault."""
    assert fault in way("table", rule)[1][0]
