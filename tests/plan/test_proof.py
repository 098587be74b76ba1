"""The family check walks every legal configuration and finds each fault with an example."""

import pytest

from kitting.plan import configuration, family, kit, proof
from tests.plan.shipped import NAMES, checked, edition
from tests.plan.small import edition as small
from tests.plan.small import text

MORE = '[[rule]]\nname = "again"\nneed = "cover"\nwhen = {}\nway = "built_in"\nwhy = "no"'


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_family_is_whole(name):
    """Every legal configuration has each need met exactly once."""
    found = checked(name).as_json()

    assert found["faults"] == []
    assert found["counter_example"] is None
    assert found["configurations"] > found["discrete"] > found["evaluated"] > 2_000
    assert found["configurations"] >= 20_000
    assert name != "bank" or found["discrete"] >= 1_000_000
    assert sum(found["ways"].values()) == len(edition(name).rules)


def broken(old, new):
    return family.parse(text().replace(old, new, 1), "small.toml")


GLANDS = {"glands": "cannot count"}
# What is broken: (how it is read, rule at fault -> kind).
FAULTS = {
    "a rule taken out": (lambda: small(without=("screws",)), {"anchor": "unmet"}),
    "a gland range off by a tenth": (lambda: broken("[40, 120]", "[41, 120]"), GLANDS),
    "a gap between glands": (lambda: broken("[110, 200]", "[122, 200]"), GLANDS),
    "a need met twice": (lambda: small(more=MORE), {"no cover and again": "overlap"}),
    "no locknut": (lambda: small(without=("nuts",)), {**GLANDS, "fit in hole": "unmet"}),
    "no holes": (lambda: broken("count = 2\n\n", "count = 0\n\n"), {"blank entry": "cannot count"}),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_found_with_an_example_that_the_kit_refuses(name):
    """The counter-example is a configuration file, and its kit is refused for that fault."""
    read, rules = FAULTS[name]
    known = read()
    found = proof.check(known)

    assert {fault.rule: fault.kind for fault in found.faults} == rules
    example = found.as_json()["counter_example"]
    refused = kit.work_out(known, configuration.parse(example, known)).refused
    assert rules.keys() & {refusal.rule for refusal in refused}


def test_a_fault_for_three_inputs_together_is_found():
    """Only on wood, with two stacks, and a run of 7000 mm or more: one corner, and it is found."""
    known = family.parse(
        text(without=("no support cable",))
        + '[[rule]]\nname = "s1"\nneed = "support cable"\nwhen = { wall = ["brick"] }\n'
        'way = "built_in"\nwhy = "no"\n'
        '[[rule]]\nname = "s2"\nneed = "support cable"\nwhen = { wall = ["wood"], stacks = [1] }\n'
        'way = "built_in"\nwhy = "no"\n'
        '[[rule]]\nname = "s3"\nneed = "support cable"\n'
        'when = { wall = ["wood"], stacks = [2], run = { max = 6999 } }\n'
        'way = "built_in"\nwhy = "no"\n',
        "small.toml",
    )
    found = proof.check(known)
    example = found.as_json()["counter_example"]

    assert [fault.rule for fault in found.faults] == ["support cable"]
    assert (example["wall"], len(example["stacks"]), example["run"]) == ("wood", 2, 7000)


def test_a_hole_only_where_it_is_illegal_is_no_fault():
    """Three modules on wood are refused by a limit, so a table without that row stands."""
    rows = "rows = [{ modules = 1, gives = { screw = 2 } }, { modules = 2, gives = { screw = 3 } }]"
    rule = f'[[rule]]\nname = "r"\nneed = "restrain"\nstep = "fix"\nway = "table"\n{rows}\n'
    whole = rule + 'by = ["modules"]\nwhen = { wall = ["wood"] }\n'
    other = '[[rule]]\nname = "q"\nneed = "restrain"\nway = "built_in"\nwhy = "no"\n'
    other += 'when = { wall = ["brick"] }'

    assert proof.check(small(without=("no restrain",), more=whole + other)).faults == []


def test_a_rule_that_meets_nothing_is_a_fault():
    """A rule for a part that nothing raises would be missed by nobody."""
    more = '[[rule]]\nname = "moon"\nneed = "secure"\nof = "moon"\nway = "built_in"\nwhy = "no"'
    found = proof.check(small(more=more))

    assert [(fault.kind, fault.rule) for fault in found.faults] == [("idle", "moon")]


def test_where_three_lengths_meet_each_millimetre_is_come_by():
    """Three figures over two lengths each leave one site: (a, b, c) = (10, 11, 31)."""
    three = [
        'way = "allowed_sets"\npath = { a = 1, b = 1 }\nlengths = { x = 20, y = 100 }',
        'way = "allowed_sets"\npath = { a = -1, c = 1 }\nlengths = { v = 20, w = 100 }',
    ]
    rules = [
        ("r1", "connect inverter", "", f'{three[0]}\nsets = [["x"], ["y"]]', ""),
        ("r2", "couple", "n1", f'{three[1]}\nsets = [["v"], ["w"]]', ""),
        ("r3", "couple", "n2", 'way = "fit"\nmeasure = "b"\nchoose = ["p", "q"]', ""),
        ("r4", "couple", "n3", 'way = "built_in"\nwhy = "no"', "when = { c = { min = 32 } }"),
    ]
    raised = {"y": "n1", "w": "n2", "q": "n3"}
    fits = {"p": "fits = { b = [12, 30] }", "q": "fits = { b = [0, 31] }"}
    more = "".join(
        f'[[axis]]\nname = "{name}"\nquestion = "?"\nkind = "length"\nmin = 0\nmax = {most}\n'
        for name, most in (("a", 20), ("b", 30), ("c", 40))
    )
    for code in "xyvwpq":
        more += f'[[item]]\ncode = "{code}"\nname = "{code}"\ntracking = "count"\nmass_g = 1\n'
        more += fits.get(code, "") + "\n"
        if code in raised:
            more += f'raises = [{{ need = "couple", of = "{raised[code]}", count = 1 }}]\n'
    for name, need, of, body, when in rules:
        part = f'of = "{of}"\n' if of else ""
        more += f'[[rule]]\nname = "{name}"\nneed = "{need}"\n{part}step = "fix"\n{when}\n{body}\n'
    found = proof.check(small(without=("no connect inverter",), more=more))

    assert [(fault.kind, fault.part) for fault in found.faults] == [("unmet", "n3")]
    example = found.faults[0].example
    assert (example["a"] + example["b"] > 20, example["c"] - example["a"] > 20) == (True, True)
    assert example["b"] <= 11
    assert example["c"] < 32


TWICE = """[[axis]]
name = "gap"
question = "How wide?"
kind = "length"
min = 0
max = 50
"""
LEADS = """[[rule]]
name = "leads"
need = "connect inverter"
step = "connect"
way = "allowed_sets"
path = { run = 1, gap = 2 }
lengths = { plug = 9100 }
sets = [["plug"]]
"""


@pytest.mark.parametrize(("path", "walked"), [("gap = 2", False), ("gap = 1", True)])
def test_a_figure_that_could_be_passed_over_is_a_fault(path, walked):
    """Where the length asked last is taken twice a millimetre may lie between: it is said."""
    more = TWICE + LEADS.replace("gap = 2", path)
    faults = proof.check(small(without=("no connect inverter",), more=more)).faults

    said = (
        "expected a figure over several lengths that takes the one asked last once, so that no"
        " millimetre is passed over; 2 x gap + 1 x run = 9100 takes gap more than once"
    )

    assert [fault.message for fault in faults] == ([] if walked else [said])
