"""A broken family file is refused with every fault: file, table, key."""

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
STACKS = "[stacks]\nmin = 1\nmax = 2\nmodules_min = 1\nmodules_max = 3"
# One fault each: (what is replaced, by what, the whole message).
FAULTS = {
    "not TOML": ("[family]", "[family", "small.toml: expected TOML, got"),
    "a table misspelt": ("[topology]", "[toplogy]", "expected one of family, stacks"),
    "a table missing": (STACKS, "", "small.toml: stacks: expected a table"),
    "a key misspelt": ("mass_g = 400", "mass_kg = 1", "got the key 'mass_kg'"),
    "a key missing": ("mass_g = 400", "", "small.toml: item 'bracket': mass_g: expected a whole"),
    "an unknown item": ("gives = { plug = 1", "gives = { plgu = 1", "rule 'plugs': way: expected"),
    "a negative quantity": ("{ module = 1 }", "{ module = -1 }", "gives: module: expected a whole"),
    "a huge quantity": ("{ module = 1 }", "{ module = 99999999999 }", "got 99999999999"),
    "a quantity of text": ("{ module = 1 }", '{ module = "1" }', "got '1'"),
    "yes and no as a number": ("{ module = 1 }", "{ module = true }", "got True"),
    "an unknown way": ('way = "length"', 'way = "lenght"', "rule 'cables': way: expected one of"),
    "an unknown step": ('step = "fix"\nway', 'step = "fixx"\nway', "step: expected one of"),
    "an unknown name in when": ('wall = ["wood"] }', 'wal = ["wood"] }', "got 'wal'"),
    "a range upside down": ("[40, 120]", "[120, 40]", "fits: diameter: expected [least"),
    "a control character": ('"bracket"\ntr', '"bra\\u0000cket"\ntr', "name: expected a text"),
    "no date": ("edition = 2026-11-01", "edition = 11", "family: edition: expected a date"),
    "an unknown tracking": ('"serial"', '"serials"', "tracking: expected one of serial, lot"),
    "an unknown hole": (
        'hole = "side"',
        'hole = "back"',
        "run 'mains': hole: expected one of side",
    ),
    "an expression": ("when = { wall", 'when = "wall"\nx = { wall', "when: expected a table"),
    "an unknown revision": ('["A", "B"]\nverdict', '["A", "C"]\nverdict', "revisions, got 'C'"),
    "two rules of one name": ('name = "nuts"', 'name = "glands"', "got 'glands' twice"),
    "an item's own unit": ('"length"\nmass', '"length"\nunit = "piece"\nmass', "expected mm for"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_broken_file_is_one_clear_error(name):
    """Each fault names the file, the table and the key, what was expected and what came."""
    old, new, message = FAULTS[name]
    whole = text()
    assert old in whole

    with pytest.raises(FamilyError) as raised:
        family.parse(whole.replace(old, new, 1), "small.toml")

    told = str(raised.value)
    assert message in told
    assert all(fault.where.startswith("small.toml") for fault in raised.value.faults)


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
