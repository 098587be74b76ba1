"""Forty broken family files, each with one fault: exactly one error, with file, table and key.

Each is the small family with one edit; the whole message is asserted: where, what was expected,
what came.
"""

import pytest

from kitting.plan import family
from kitting.plan.errors import FamilyError
from tests.plan.small import text

STACKS = "[stacks]\nmin = 1\nmax = 2\nmodules_min = 1\nmodules_max = 3"
RULE = '[[rule]]\nname = "no restrain"\nneed = "restrain"\nway = "built_in"\nwhy = "nothing here"\n'
GRID = """
[[rule]]
name = "straps"
need = "restrain"
step = "fix"
way = "table"
by = ["modules", "run"]
upto = ["modules", "run"]
rows = [
    { modules = 2, run = 9000, gives = { screw = 1 } },
    { modules = 3, run = 4000, gives = { screw = 2 } },
]
"""
LOOP = """
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
TWICE = '[[item]]\ncode = "nut"\nname = "nut"\ntracking = "count"\nmass_g = 1\n\n'
WOOD = 'when = { wall = ["wood"] }\nway'
# What is wrong: (what is replaced, by what, the whole error).
BROKEN = {
    "not TOML": (
        "[family]",
        "[family",
        (
            "small.toml: "
            "expected TOML, got Expected ']' at the end of a table declaration (at line 2, "
            "column 8)"
        ),
    ),
    "a table misspelt": (
        "[topology]",
        "[toplogy]",
        ("small.toml: toplogy: expected one of topology, got 'toplogy'; did you mean 'topology'?"),
    ),
    "a table missing": (
        STACKS,
        "",
        "small.toml: stacks: expected a table, got nothing",
    ),
    "a key misspelt": (
        "mass_g = 400",
        "mass_kg = 400",
        "small.toml: item 'bracket': mass_kg: expected the key 'mass_g', got 'mass_kg'",
    ),
    "a key too many": (
        'tracking = "supply"',
        'tracking = "supply"\nexpire = true',
        (
            "small.toml: item 'ferrule': expire: "
            "expected a known key, got the key 'expire'; did you mean 'expires'?"
        ),
    ),
    "a key missing": (
        "mass_g = 400\n",
        "",
        (
            "small.toml: item 'bracket': mass_g: "
            "expected a whole number from 0 to 10000000, got nothing"
        ),
    ),
    "a key twice": (
        "mass_g = 400\n",
        "mass_g = 400\nmass_g = 4\n",
        "small.toml: expected TOML, got Cannot overwrite a value (at line 131, column 11)",
    ),
    "an item unknown": (
        "gives = { plug = 1",
        "gives = { plgu = 1",
        (
            "small.toml: rule 'plugs': gives: "
            "expected one of 13 known words, got 'plgu'; did you mean 'plug'?"
        ),
    ),
    "an outline's item unknown": (
        'depth = 200\nitem = "module"',
        'depth = 200\nitem = "modul"',
        ("small.toml: shape 1: item: expected a known item, got 'modul'; did you mean 'module'?"),
    ),
    "a negative quantity": (
        "{ module = 1 }",
        "{ module = -1 }",
        (
            "small.toml: rule 'modules': gives: module: "
            "expected a whole number from 1 to 10000000, got -1"
        ),
    ),
    "a quantity with a zero too many": (
        "{ module = 1 }",
        "{ module = 99999999999 }",
        (
            "small.toml: rule 'modules': gives: module: "
            "expected a whole number from 1 to 10000000, got 99999999999"
        ),
    ),
    "a quantity in quotes": (
        "{ module = 1 }",
        '{ module = "1" }',
        (
            "small.toml: rule 'modules': gives: module: "
            "expected a whole number from 1 to 10000000, got '1'"
        ),
    ),
    "yes for a number": (
        "{ module = 1 }",
        "{ module = true }",
        (
            "small.toml: rule 'modules': gives: module: "
            "expected a whole number from 1 to 10000000, got true"
        ),
    ),
    "a number for yes": (
        "unknown = true",
        "unknown = 1",
        "small.toml: axis 'od': unknown: expected true or false, got 1",
    ),
    "a way unknown": (
        'way = "length"',
        'way = "lenght"',
        (
            "small.toml: rule 'cables': way: "
            "expected one of 15 known words, got 'lenght'; did you mean 'length'?"
        ),
    ),
    "a step unknown": (
        'step = "fix"\nway',
        'step = "fixx"\nway',
        (
            "small.toml: rule 'brackets': step: "
            "expected one of base, connect, cover, down, end, fix, gland, join, look, seal, "
            "got 'fixx'; did you mean 'fix'?"
        ),
    ),
    "a step missing": (
        'need = "seal joints"\nstep = "join"',
        'need = "seal joints"',
        (
            "small.toml: rule 'seals': step: "
            "expected a step for a need of the stack itself, got nothing"
        ),
    ),
    "a need unknown": (
        'need = "fix to wall"',
        'need = "fix to wal"',
        (
            "small.toml: rule 'brackets': need: "
            "expected one of 46 known words, got 'fix to wal'; did you mean 'fix to wall'?"
        ),
    ),
    "a question unknown": (
        'wall = ["wood"] }\nway',
        'wal = ["wood"] }\nway',
        (
            "small.toml: rule 'screws': when: wal: "
            "expected one of 17 known words, got 'wal'; did you mean 'wall'?"
        ),
    ),
    "an answer unknown": (
        WOOD,
        'when = { wall = ["woods"] }\nway',
        (
            "small.toml: rule 'screws': when: wall: "
            "expected one of brick, wood, got 'woods'; did you mean 'wood'?"
        ),
    ),
    "a range turned round": (
        "[40, 120]",
        "[120, 40]",
        "small.toml: item 'g20': fits: diameter: expected [least, most], got [120, 40]",
    ),
    "a condition turned round": (
        'need = "cover"\n',
        'need = "cover"\nwhen = { modules = { min = 3, max = 1 } }\n',
        "small.toml: rule 'no cover': when: modules: expected min not above max, got 3 and 1",
    ),
    "a condition that no stack meets": (
        'need = "cover"\n',
        'need = "cover"\nwhen = { modules = { min = 4 } }\n',
        ("small.toml: rule 'no cover': when: modules: expected a range within 1 to 3, got min 4"),
    ),
    "bounds turned round": (
        "min = 500\nmax = 9000",
        "min = 9000\nmax = 500",
        "small.toml: axis 'run': max: expected a whole number from 9000 to 10000000, got 500",
    ),
    "a control character": (
        '"bracket"\ntr',
        '"bra\\u0000cket"\ntr',
        "small.toml: item 'bracket': name: expected a text, got 'bra\\x00cket'",
    ),
    "no date": (
        "edition = 2026-11-01",
        "edition = 11",
        "small.toml: family: edition: expected a date, got 11",
    ),
    "a tracking unknown": (
        '"serial"',
        '"serials"',
        (
            "small.toml: item 'module': tracking: "
            "expected one of serial, lot, count, length, tool, supply, got 'serials'; did "
            "you mean 'serial'?"
        ),
    ),
    "a kind of question unknown": (
        'kind = "diameter"',
        'kind = "diametre"',
        (
            "small.toml: axis 'od': kind: "
            "expected one of choice, whole, length, diameter, got 'diametre'; did you mean "
            "'diameter'?"
        ),
    ),
    "a hole unknown": (
        'hole = "side"',
        'hole = "back"',
        "small.toml: run 'mains': hole: expected one of side, got 'back'",
    ),
    "an expression": (
        WOOD,
        'when = "wall == wood"\nway',
        "small.toml: rule 'screws': when: expected a table, got 'wall == wood'",
    ),
    "a revision unknown": (
        '["A", "B"]\nverdict',
        '["A", "C"]\nverdict',
        "small.toml: mixing 1: revisions: expected one of A, B, got 'C'",
    ),
    "two items of one code": (
        '[[item]]\ncode = "nut"',
        TWICE + '[[item]]\ncode = "nut"',
        "small.toml: item 'nut': code: expected each code once, got 'nut' 2 times",
    ),
    "two rules of one name": (
        'name = "nuts"',
        'name = "glands"',
        "small.toml: rule 'glands': name: expected each name once, got 'glands' 2 times",
    ),
    "a base unit of another kind": (
        '"length"\nmass',
        '"length"\nunit = "piece"\nmass',
        "small.toml: item 'cable': unit: expected mm for tracking length, got piece",
    ),
    "a cable counted in pieces": (
        'way = "length"\nitem = "cable"',
        'way = "length"\nitem = "screw"',
        "small.toml: rule 'cables': item: expected an item in mm, got 'screw' in piece",
    ),
    "nothing to choose from": (
        'choose = ["g20", "g25"]',
        "choose = []",
        "small.toml: rule 'glands': choose: expected a text or a list of at least one, got []",
    ),
    "a limit of an unknown figure": (
        'measure = "modules"',
        'measure = "moduls"',
        (
            "small.toml: limit 'two high on wood': measure: "
            "expected one of modules, height, stack_mass, stacks, total_modules, units, "
            "total_mass, difference, od, run, got 'moduls'; did you mean 'modules'?"
        ),
    ),
    "a limit without a bound": (
        "max = 2\nwhen = { wall",
        "when = { wall",
        (
            "small.toml: limit 'two high on wood': max: "
            "expected max or min beside a measure, got neither"
        ),
    ),
    "a table with a hole": (
        RULE,
        GRID,
        (
            "small.toml: rule 'straps': rows: "
            "expected a row for (2, 4000): (2, 9000) and (3, 4000) both hold there"
        ),
    ),
    "lines that count each other": (
        '[[rule]]\nname = "modules"',
        LOOP + '\n[[rule]]\nname = "modules"',
        "small.toml: rule 'a': way: expected no circle, got a -> b -> a",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_one_clear_error(name):
    """One slip, one error; nothing that only follows from it is told beside."""
    old, new, error = BROKEN[name]
    whole = text()
    assert old in whole

    with pytest.raises(FamilyError) as raised:
        family.parse(whole.replace(old, new, 1), "small.toml")

    assert str(raised.value) == error
    assert len(raised.value.faults) == 1


def test_the_file_without_a_slip_is_read():
    """The edits break a file that is whole."""
    assert family.parse(text(), "small.toml").name == "small"
    assert len(BROKEN) >= 40
