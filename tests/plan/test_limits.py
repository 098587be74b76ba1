"""A broken limit refuses, and all broken ones are told at once."""

import pytest

from kitting.plan import configuration, family, limits
from tests.plan import shipped
from tests.plan.small import edition, text, work_out

LIMITS = """
[[limit]]
name = "all"
message = "modules in all"
measure = "total_modules"
max = 4
[[limit]]
name = "even"
message = "stacks alike"
measure = "difference"
max = 0
[[limit]]
name = "heavy"
message = "mass of a stack"
measure = "stack_mass"
max = 60000
[[limit]]
name = "high"
message = "height of a stack"
measure = "height"
max = 600
[[limit]]
name = "long"
message = "run of the cable"
measure = "run"
max = 5000
min = 1000
[[limit]]
name = "bare"
message = "no thick cable on wood"
when = { wall = ["wood"], od = { min = 150 } }
"""


def refused(**answers):
    found = work_out(edition(more=LIMITS), **answers)
    return {refusal.rule: refusal.message for refusal in found.refused}


def test_within_the_limits_there_is_a_kit():
    """Two modules, a short run: nothing is refused."""
    assert refused() == {}


@pytest.mark.parametrize(
    ("answers", "wanted"),
    [
        ({"run": 5001}, {"long": "run of the cable: expected at most 5000, got 5001"}),
        ({"run": 999}, {"long": "run of the cable: expected at least 1000, got 999"}),
        ({"run": 5000}, {}),
        ({"wall": "wood", "od": 150}, {"bare": "no thick cable on wood"}),
        ({"wall": "wood", "od": 149}, {}),
        (
            {"stacks": [{"modules": 2}, {"modules": 1}]},
            {"even": "stacks alike: expected at most 0, got 1"},
        ),
    ],
)
def test_a_limit_holds_to_its_last_figure(answers, wanted):
    """On the limit it stands, one beyond it does not."""
    assert refused(**answers) == wanted


def test_every_broken_limit_is_told_at_once():
    """Six reasons for one configuration, each with its figures; no line is given."""
    found = refused(stacks=[{"modules": 1}, {"modules": 3}], wall="wood", od=160, run=8400)

    assert set(found) == {"two high on wood", "even", "heavy", "high", "long", "bare"}
    assert found["two high on wood"].endswith("expected at most 2, got 3 (stack 2)")
    assert found["heavy"] == "mass of a stack: expected at most 60000, got 90000 (stack 2)"


def test_a_limit_on_an_unknown_answer_must_be_settled_first():
    """An unknown diameter on wood may break a limit: the question says so, and which answers do."""
    found = work_out(edition(more=LIMITS), wall="wood", od="unknown")
    question = found.unresolved[0]

    assert found.refused == ()
    assert question.first == ("no thick cable on wood",)
    assert [answer.answer for answer in question.answers if answer.refused] == ["15 mm to 20 mm"]


def test_revisions_that_are_barred_do_not_mix():
    """One A and one B in a stack is refused; two B are not."""
    mixed = [{"modules": 2, "revisions": ["A", "B"]}]

    assert refused(stacks=mixed)["mixing"] == "A and B do not stand together (revisions A, B)"
    assert refused(stacks=[{"modules": 2, "revisions": ["B", "B"]}]) == {}


def test_revisions_allowed_on_a_condition_ask_a_person():
    """What must be seen to stands on the kit as a question, and nothing is refused."""
    whole = text().replace('"barred"', '"allowed if"')
    mixed = [{"modules": 2, "revisions": ["A", "B"]}]
    found = work_out(family.parse(whole, "small.toml"), stacks=mixed)

    assert found.refused == ()
    assert [question.question for question in found.unresolved] == [
        "check yourself: A and B do not stand together (revisions A, B)"
    ]


def test_an_old_unit_that_accepts_no_expansion_bars_it():
    """The unit is named by its place."""
    before = {"stacks": [{"modules": 2, "revisions": ["B", "A"]}]}
    found = work_out(job="expansion", stacks=[{"modules": 3}], before=before)

    assert "stack 1 place 2 is revision A: expected B or later" in [
        refusal.message for refusal in found.refused
    ]


def test_an_old_unit_whose_revision_nobody_knows_is_to_be_looked_at():
    """It bars nothing by itself; a person signs that it is late enough."""
    before = {"stacks": [{"modules": 2, "revisions": ["B", ""]}]}
    found = work_out(job="expansion", stacks=[{"modules": 3}], before=before)

    assert found.refused == ()
    question = "check yourself: the revision of stack 1 place 2 is not known; "
    question += "expected B or later before the stack may grow"
    assert [one.question for one in found.unresolved] == [question]


def test_a_limit_names_the_places_it_is_about():
    """A fifth module on the wall, stacks that differ, a stack too many; an answer has no place."""
    known = shipped.edition("tower")
    by_name = {limit.name: limit for limit in known.limits}

    def places(name, shape, **answers):
        given = {**dict.fromkeys(known.axes), **answers}
        found = configuration.so_far(known, "new", shape, given)
        return limits.where(by_name[name], known, found.site())

    assert places("L2", (5, 4), mount="wall") == {(1, 5)}
    assert places("L2", (4, 4), mount="wall") == frozenset()
    assert places("L1", (2, 3, 2)) == {(2, 0)}
    assert places("L7", (5,), mount="wall") == {(1, 0)}
    assert places("L3", (6, 6, 6)) == {(1, 0), (2, 0), (3, 0)}
    assert places("L4", (2,), mount="wall", wall="aerated") == {(1, 0)}
    assert places("L5", (2,), ac_way="conduit", ac_od=200) == frozenset()
