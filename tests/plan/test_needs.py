"""The needs are a closed list, and each is met exactly once."""

import pytest

from kitting.plan import configuration, kit, topology
from kitting.plan.errors import FamilyError
from kitting.plan.meeting import Met, meet, needs
from kitting.plan.needs import NEEDS
from tests.plan.small import edition, given, quantities, work_out

DESIGN = (
    *("stand", "fix to wall", "restrain", "join units", "tie stacks", "seal joints"),
    *("link power", "link data", "end the bus", "blank ports", "connect stacks"),
    *("connect inverter", "run power", "run data", "run earth", "bond", "enter cable"),
    *("seal entry", "blank entry", "protect and isolate", "cover", "label", "lift"),
    *("tools", "gear"),
)


def test_the_trade_needs_are_all_there():
    """The closed list holds every need of the design's section 3.1."""
    assert set(DESIGN) <= set(NEEDS)


def test_a_need_outside_the_list_does_not_exist():
    """A misspelt need is a fault that says which real ones are near."""
    more = '[[rule]]\nname = "x"\nneed = "fasten to moon"\nway = "built_in"\nwhy = "no"'

    with pytest.raises(
        FamilyError, match=r"rule 'x': need: expected one of 46 .* did you mean 'fasten'"
    ):
        edition(more=more)


def test_every_need_of_the_list_is_raised_or_raisable():
    """A new stack of the small family raises every standing and work need with a count."""
    known = edition()
    site = configuration.parse(given(stacks=[{"modules": 2}] * 2), known).site()
    raised = {demand.need for demand in needs(known, site, "new", Met())}
    wanted = {need.name for need in NEEDS.values() if need.kind in ("standing", "work")}

    assert raised == wanted


@pytest.mark.parametrize(
    ("need", "count", "words"),
    [
        ("place module", 3, "stack 1: 3 modules"),
        ("join units", 4, "stack 1: 3 modules + 1 = 4 joints"),
        ("link power", 3, "stack 1: 3 modules = 3 links"),
        ("end the bus", 2, "stack 1 place 3"),
        ("blank entry", 1, "2 M25 holes - 1 used = 1"),
        ("enter cable", 1, "mains, system: 1 entry"),
    ],
)
def test_topology_counts(need, count, words):
    """n modules on a base with a head have n + 1 joints and n links; free holes are blanked."""
    known = edition()
    site = configuration.parse(given(stacks=[{"modules": 3}]), known).site()
    found = [demand for demand in needs(known, site, "new", Met()) if demand.need == need]

    assert [(demand.number, demand.words) for demand in found] == [(count, words)]


@pytest.mark.parametrize("name", ["modules", "brackets", "no cover", "no bond", "driver"])
def test_a_need_that_nothing_meets_refuses_the_kit(name):
    """One rule taken out of a released edition leaves no kit, and the need is named."""
    found = work_out(edition(without=(name,)))

    assert found.lines == ()
    assert "no rule meets: " in found.refused[0].message


def test_raised_hardware_must_be_met_too():
    """A bracket's anchors are needs like all others: without their rule there is no kit."""
    found = work_out(edition(without=("plugs",)))

    assert [refusal.rule for refusal in found.refused] == ["anchor"]
    assert found.refused[0].message == "no rule meets: anchor: wall (stack 1)"


def test_a_need_met_twice_refuses_the_kit():
    """Two rules for one need are an overlap; both are named."""
    more = '[[rule]]\nname = "again"\nneed = "cover"\nway = "built_in"\nwhy = "no"'
    found = work_out(edition(more=more))

    assert [refusal.rule for refusal in found.refused] == ["no cover and again"]


def test_a_trial_edition_asks_a_person_instead():
    """What nothing meets in a trial list is a question to check and sign, and the rest stands."""
    found = work_out(edition(without=("no bond",), status="trial"))

    assert found.refused == ()
    assert [question.needs for question in found.unresolved] == [("bond",)]
    assert found.unresolved[0].question == "check yourself: how is it earthed?"
    assert ("module", "look") in quantities(found.lines)


def test_raised_needs_arise_at_the_step_of_their_line():
    """Plugs of a bracket are needed where the bracket is fixed."""
    assert quantities(work_out().lines)["plug", "fix"] == 2


def test_hardware_raises_at_any_depth():
    """Cable -> gland -> reducer -> locknut: each raised by the one before."""
    found = quantities(work_out(od=90).lines)

    assert found["g20", "gland"] == found["reducer", "gland"] == found["nut", "gland"] == 1


def test_every_answered_need_has_one_rule():
    """No need appears twice among those that were met."""
    known = edition()
    site = configuration.parse(given(), known).site()
    met = Met()
    meet(known, site, needs(known, site, "new", met), met)
    roots = [d.root for d, _ in met.answered if (d.need, d.of) == d.root[:2]]

    assert len(roots) == len(set(roots)) > 30
    assert kit.work_out(known, configuration.parse(given(), known)).refused == ()


def test_each_place_of_a_stack_tells_its_stack():
    """Whatever unit it names beside: a swap asks which needs are on the stack it opens."""
    known = edition()
    site = configuration.parse(given(stacks=[{"modules": 2}] * 2), known).site()
    asked = [one for one in needs(known, site, "new", Met()) if "stack" in one.measures]

    assert {one.root[2] for one in asked if one.need == "end the bus"} == {
        "stack 1 place 2",
        "stack 2 place 2",
    }
    for one in asked:
        assert topology.stack_of(one.root[2]) == f"stack {one.measures['stack']}"
