"""A family file is refused with every fault at once; one fault each: test_broken_toml.py."""

import pytest

from kitting.plan import family
from kitting.plan.errors import FamilyError
from tests.plan.small import edition, text

CIRCLE = """
[[item]]
code = "hen"
name = "hen"
tracking = "count"
mass_g = 1
raises = [{ need = "secure", of = "egg" }]
[[item]]
code = "egg"
name = "egg"
tracking = "count"
mass_g = 1
raises = [{ need = "secure", of = "hen" }]
[[rule]]
name = "hens"
need = "secure"
of = "hen"
way = "each"
gives = { hen = 1 }
[[rule]]
name = "eggs"
need = "secure"
of = "egg"
way = "each"
gives = { egg = 1 }
"""
LINES = """
[[rule]]
name = "a"
need = "mark"
of = "a"
step = "fix"
way = "per_line"
per = ["screw"]
gives = { plug = 1 }
[[rule]]
name = "b"
need = "mark"
of = "b"
step = "fix"
way = "per_line"
per = ["plug"]
gives = { screw = 1 }
"""


def test_all_faults_are_told_at_once():
    """Three slips are three lines, not one after another."""
    broken = text().replace("mass_g = 400", "mass_g = -4")
    broken = broken.replace('way = "length"', 'way = "lenght"').replace("min = 40", "min = 999")

    with pytest.raises(FamilyError) as raised:
        family.parse(broken, "small.toml")

    keys = {fault.key for fault in raised.value.faults}
    assert {"mass_g", "way", "max"} <= keys


@pytest.mark.parametrize(
    ("more", "circle"),
    [(CIRCLE, "eggs -> hens -> eggs"), (LINES, "a -> b -> a")],
)
def test_a_circle_is_refused(more, circle):
    """Hardware that raises itself, or lines that count each other, cannot be counted."""
    with pytest.raises(FamilyError) as raised:
        edition(more=more)

    names = set(circle.split(" -> "))
    assert "expected no circle, got" in str(raised.value)
    assert all(name in str(raised.value) for name in names)


def test_an_edition_knows_its_text():
    """The hash is of the text as it was read; one changed byte is another edition."""
    one, same = family.parse(text(), "small.toml"), family.parse(text(), "other.toml")
    other = family.parse(text() + "\n", "small.toml")

    assert one.hash == same.hash != other.hash


def test_deep_nesting_is_no_crash():
    """A hostile file of a thousand brackets is a fault, not a crash."""
    with pytest.raises(FamilyError, match="expected"):
        family.parse("a = " + "[" * 5000 + "]" * 5000, "small.toml")
