"""Expansions against tables worked by hand from each family's prose sheet, never from the engine.

Beside these, T11, R11 and their like stand among the twelve kits of each family's own hand table.
"""

import csv
import functools
import json

import pytest

from kitting.plan import configuration, family, kit
from tests.plan.calculator import calculate
from tests.plan.shipped import FAMILIES, NAMES, edition

EVERY = json.loads((FAMILIES / "expansions.json").read_text(encoding="utf-8"))
GIVEN = {key: given for key, given in EVERY.items() if given["family"] in NAMES}
FALLS = {
    "E5": (
        "{ modules = 4, gives = { CT-BRACKET = 3 } }",
        "{ modules = 4, gives = { CT-BRACKET = 1 } }",
    )
}
"""Where a later table has a smaller cell for more modules: (as shipped, as worked by hand)."""


@functools.cache
def by_hand():
    text = (FAMILIES / "expansions.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def known(key):
    """The edition that an expansion was worked from."""
    name = GIVEN[key]["family"]
    if key not in FALLS:
        return edition(name)
    whole, (old, new) = (FAMILIES / f"{name}.toml").read_text(encoding="utf-8"), FALLS[key]
    assert old in whole
    return family.parse(whole.replace(old, new, 1), f"{name}.toml")


def as_rows(found):
    """What an expansion takes, frees, throws away and moves, as the table writes it."""
    lists = (("take", found.lines), ("back", found.comes_back), ("renewed", found.renewed))
    rows = {
        (where, line.item, line.step): (line.quantity, line.unit)
        for where, lines in lists
        for line in lines
    }
    steps = {line.item: line.step for line in (*found.lines, *found.comes_back)}
    moved = {
        ("moved", m.item, steps.get(m.item, "end")): (m.quantity, "piece") for m in found.moves
    }
    assert len(moved) == len(found.moves)
    return {**rows, **moved}


@pytest.mark.parametrize("key", GIVEN)
def test_an_expansion_is_the_hand_worked_one(key):
    """In every line, quantity, unit and step: taken, back, renewed, moved."""
    wanted = {
        (row["list"], row["item"], row["step"]): (int(row["quantity"]), row["unit"])
        for row in by_hand()
        if row["expansion"] == key
    }
    edition_of = known(key)
    found = kit.work_out(edition_of, configuration.parse(GIVEN[key], edition_of))

    assert found.refused == ()
    assert as_rows(found) == wanted
    assert len(wanted) > 25


@pytest.mark.parametrize("row", by_hand(), ids=lambda row: f"{row['expansion']} {row['item']}")
def test_the_hand_arithmetic_comes_out(row):
    """A plain calculator comes to the quantity that each hand-worked line writes down."""
    quantity = int(row["quantity"])

    assert calculate(row["arithmetic"]) == (quantity, quantity)


def test_one_of_them_frees_what_a_smaller_cell_no_longer_wants():
    """Four modules of that table take fewer brackets than three: bracket and anchors come back."""
    back = {row["item"] for row in by_hand() if (row["expansion"], row["list"]) == ("E5", "back")}

    assert back == {"CT-BRACKET", "CT-LAG", "CT-WASHL"}
    assert len(GIVEN) >= 6
