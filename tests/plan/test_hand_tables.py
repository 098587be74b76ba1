"""Kits against tables worked by hand from each family's prose sheet, never from the engine."""

import csv
import json
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from kitting.plan import configuration, family, kit
from kitting.plan.ways import ways
from tests.plan.calculator import calculate
from tests.plan.shipped import NAMES

FAMILIES = Path(__file__).parents[2] / "fixtures" / "families"


@cache
def edition(name):
    path = FAMILIES / f"{name}.toml"
    return family.parse(path.read_text(encoding="utf-8"), path.name)


def configurations(name):
    return json.loads((FAMILIES / f"{name}.hand.json").read_text(encoding="utf-8"))


def by_hand(name):
    text = (FAMILIES / f"{name}.hand.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def work_out(name, given):
    known = edition(name)
    return kit.work_out(known, configuration.parse(given, known))


def as_rows(found):
    """A kit as the hand table writes it: (list, item, step) -> (quantity, unit)."""
    told = found.as_json()
    lists = (("take", told["lines"]), ("back", told["comes_back"]))
    return {
        (where, line["item"], line["step"]): (line["quantity"], line["unit"])
        for where, lines in lists
        for line in lines
    }


CASES = [(name, key) for name in NAMES for key in configurations(name)]


@pytest.mark.parametrize(("name", "key"), CASES)
def test_a_kit_is_the_hand_worked_one(name, key):
    """The kit and the hand table agree in every line, quantity, unit and step."""
    wanted = {
        (row["list"], row["item"], row["step"]): (int(row["quantity"]), row["unit"])
        for row in by_hand(name)
        if row["configuration"] == key
    }
    found = work_out(name, configurations(name)[key])
    assert not found.refused
    given = configurations(name)[key]
    assert [question.axis for question in found.unresolved] == [
        axis for axis, answer in given.items() if answer == "unknown"
    ]
    assert as_rows(found) == wanted
    assert len(wanted) > 20


@pytest.mark.parametrize("name", NAMES)
def test_the_hand_arithmetic_comes_out(name):
    """A plain calculator comes to the quantity that each hand-worked line writes down."""
    rows = by_hand(name)
    assert len(rows) > 600
    for row in rows:
        value, written = calculate(row["arithmetic"])
        assert (value, written) == (int(row["quantity"]), int(row["quantity"])), row


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("3 modules x 4 screws = 12", Fraction(12)),
        ("2 + 3 x 4 = 14", Fraction(14)),
        ("(2 + 3) x 4 = 20", Fraction(20)),
        ("ceil(7 mm / 2 mm) + 1 = 5", Fraction(5)),
        ("10 - 4 - 3 = 3", Fraction(3)),
        ("12 / 4 x 3 = 9", Fraction(9)),
        ("7 / 2 = 3", Fraction(7, 2)),
    ],
)
def test_the_calculator_is_a_plain_one(line, value):
    """It binds as school arithmetic does and rounds only where ceil is written."""
    assert calculate(line)[0] == value


@pytest.mark.parametrize("line", ["3 x = 3", "(3 = 3", "3 4 = 3", "3 * 4 = 12", "3 x 4", "= 4"])
def test_the_calculator_refuses_what_is_no_arithmetic(line):
    """A slip in a hand-worked line is an error, not a number."""
    with pytest.raises(ValueError, match="expected"):
        calculate(line)


@pytest.mark.parametrize("name", NAMES)
def test_the_hand_table_reaches_every_answer(name):
    """Each value of each choice, each module count and each kind of job is worked by hand."""
    known, given = edition(name), configurations(name).values()
    assert len(given) == 12
    for axis in known.axes.values():
        answered = {one.get(axis.name) for one in given}
        assert set(axis.values) <= answered, axis.name
    modules = {stack["modules"] for one in given for stack in one["stacks"]}
    stacks = {len(one["stacks"]) for one in given}
    least, most = known.bounds.modules
    assert set(range(least, most + 1)) <= modules
    assert set(range(known.bounds.stacks[0], known.bounds.stacks[1] + 1)) <= stacks
    assert {one["job"] for one in given} == {"new", "expansion", "removal"}


@pytest.mark.parametrize("name", NAMES)
def test_the_hand_table_reaches_every_rule_that_gives_a_line(name):
    """No rule of an edition is left that no hand-worked kit would miss."""
    known = edition(name)
    used = {
        reason.rule
        for given in configurations(name).values()
        for line in work_out(name, given).lines
        for reason in line.reasons
    }
    giving = {rule.name for rule in known.rules if rule.counting.items()}
    assert giving <= used, sorted(giving - used)


def test_every_way_of_counting_is_worked_by_hand():
    """The shipped families' rules together use every way there is."""
    assert {rule.way for name in NAMES for rule in edition(name).rules} == set(ways())
