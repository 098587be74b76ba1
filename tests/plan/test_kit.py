"""The kit as a whole: lines in order, every reason kept, a snapshot that says what it rests on."""

import json

from kitting.plan import configuration, kit, lookup
from tests.plan.shipped import edition, hand
from tests.plan.small import edition as small
from tests.plan.small import quantities, work_out

HUGE = '[[rule]]\nname = "many"\nneed = "bond"\nstep = "fix"\nway = "each"\nper = "run"\n'
HUGE += "gives = { screw = 10000000 }"


def test_lines_of_one_item_at_one_step_are_one_line():
    """Two stacks, one line of brackets, and a reason for each stack."""
    found = work_out(stacks=[{"modules": 2}, {"modules": 3}])
    line = next(line for line in found.lines if line.item == "module")

    assert line.quantity == 5
    assert [reason.arithmetic for reason in line.reasons] == [
        *("stack 1: 2 modules", "stack 2: 3 modules")
    ]


def test_lines_come_in_the_order_of_the_job():
    """Step by step, and within a step as the family lists its items."""
    known = small()
    order = [step.key for step in work_out().steps]
    listed = list(known.items)
    places = [(order.index(line.step), listed.index(line.item)) for line in work_out().lines]

    assert places == sorted(places)


def test_every_reason_names_need_rule_arithmetic_and_source():
    """A line answers "why so many?" by itself."""
    known = edition("tower")
    found = kit.work_out(known, configuration.parse(hand("tower")["T02"], known))
    rules = {rule.name: rule for rule in known.rules}
    for line in found.lines:
        for reason in line.reasons:
            rule = rules[reason.rule]
            assert reason.need.split(": ")[0] == rule.need
            assert reason.source == rule.source != ""
            assert reason.arithmetic


def test_arithmetic_reads_like_a_fitter_s():
    """Three modules on a base with a head: two clamps' bolts per joint."""
    known = edition("tower")
    given = {**hand("tower")["T01"], "stacks": [{"modules": 3}]}
    lines = kit.work_out(known, configuration.parse(given, known)).lines
    bolts = next(line for line in lines if (line.item, line.step) == ("CT-BOLT6", "join"))

    assert bolts.quantity == 16
    assert [reason.arithmetic for reason in bolts.reasons] == [
        *("4 joint clamp, left x 2 = 8", "4 joint clamp, right x 2 = 8")
    ]


def test_what_needs_no_line_is_answered_in_words():
    """A need that the unit meets by itself is told with its reason."""
    answers = {answer.need: answer.why for answer in work_out().answered}

    assert answers["bond"] == "nothing here"


def test_a_snapshot_says_what_it_rests_on():
    """Edition with the hash of its text, editions of the tables, the engine, the configuration."""
    found = work_out().as_snapshot()

    assert found["edition"] == "2026-11-01"
    assert found["edition_hash"] == small().hash
    assert found["tables"] == lookup.editions()
    assert found["engine"] == kit.ENGINE
    assert found["configuration"]["stacks"] == [{"modules": 2}]
    assert json.loads(json.dumps(found)) == found


def test_a_quantity_beyond_all_measure_refuses():
    """A rule that comes to 40 thousand million screws is a fault of the list, not a line."""
    found = work_out(small(without=("no bond",), more=HUGE))

    assert found.lines == ()
    assert [refusal.rule for refusal in found.refused] == ["many"]
    assert "expected a quantity of 1 or more, got 40000000000" in (found.refused[0].message)


def test_an_item_s_carton_takes_nothing_off_a_line():
    """What comes in a box is netted when the warehouse sources it, never here."""
    known = edition("tower")
    found = kit.work_out(known, configuration.parse(hand("tower")["T01"], known))

    assert known.items["CT-BASE"].carton == {"CT-FOOT": 4}
    assert quantities(found.lines)["CT-FOOT", "base"] == 4
