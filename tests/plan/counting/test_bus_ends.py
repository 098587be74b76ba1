"""Two ends per bus, less those inside a unit.

ISO 11898-2 and TIA-485: two terminators, at the ends and nowhere else; by whole kits in
tests/reference/test_bus.py.
"""

import pytest

from kitting.plan.given import CannotCount, Demand, Task
from kitting.plan.site import Scope, Site
from tests.plan.small import counted, way


@pytest.mark.parametrize(
    ("built_in", "buses", "wanted"),
    [
        (0, 1, {"bolt": 2}),
        (1, 1, {"bolt": 1}),
        (2, 1, {}),  # both inside: nothing to bring
        (1, 3, {"bolt": 3}),
    ],
)
def test_a_bus_has_two_ends(built_in, buses, wanted):
    """Each bus takes two terminators, built-in ones among them."""
    rule = f'plug = "bolt"\nbuilt_in = {built_in}'

    assert counted("bus_ends", rule, number=2 * buses)[0] == wanted


def test_a_third_end_is_a_fault():
    """No bus has three ends."""
    assert way("bus_ends", 'plug = "bolt"\nbuilt_in = 3')[1] == [
        "rule: built_in: expected a whole number from 0 to 2, got 3"
    ]


BY_REVISION = """
plug = "bolt"
built_in = { by = "head_rev", A = 0, B = 1, C = 2 }
"""
SWITCHED = """
switchable = 2
inside = "the head"
"""


@pytest.mark.parametrize(
    ("revision", "wanted", "words"),
    [
        ("A", {"bolt": 2}, "2 ends - 0 built in (head_rev A) = 2"),
        ("B", {"bolt": 1}, "2 ends - 1 built in (head_rev B) = 1"),
        ("C", {}, ""),
    ],
)
def test_the_revision_decides_how_many_are_inside(revision, wanted, words):
    """Each revision of the unit has its own figure, and the reason names it."""
    found, givings = counted("bus_ends", BY_REVISION, number=2, head_rev=revision)

    assert found == wanted
    assert "".join(given.words for given in givings) == words


def test_a_revision_nobody_knows_is_said():
    """No figure is guessed for a revision that is not written."""
    with pytest.raises(CannotCount) as error:
        counted("bus_ends", BY_REVISION, number=2, head_rev="D")

    assert str(error.value) == "ends built in are known for head_rev A, B, C, not for D"


@pytest.mark.parametrize(
    ("revision", "told"),
    [
        ("A", []),
        ("B", ["Switch on the bus end inside the head; every other one stays off."]),
        ("C", ["Switch on both bus ends inside the head; every other one stays off."]),
    ],
)
def test_an_end_with_a_switch_becomes_a_task(revision, told):
    """What is inside and switched is no part to bring, but something to do."""
    found, faults, book = way("bus_ends", BY_REVISION + SWITCHED)
    demand = Demand("end the bus", "", ("end the bus", "", "system"), 2, {}, "", "")
    scope = Scope(Site((1,), {}, "new"), {"head_rev": revision})

    assert faults == []
    assert found.tells(Task(demand, scope, book, lambda item: [])) == told


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        (
            'plug = "bolt"\nbuilt_in = 1\nswitchable = 2',
            "rule: switchable: expected a whole number from 0 to 1, got 2",
        ),
        (
            'plug = "bolt"\nbuilt_in = 1\nswitchable = 1',
            "rule: inside: expected a text, got nothing",
        ),
        (
            'plug = "bolt"\nbuilt_in = { by = "head_rev" }',
            "rule: built_in: expected a figure for each answer, got none",
        ),
        (
            'plug = "bolt"\nbuilt_in = { by = "head_rev", A = 3 }',
            "rule: built_in: A: expected a whole number from 0 to 2, got 3",
        ),
    ],
)
def test_what_a_bus_cannot_have(rule, fault):
    """Each fault is one line."""
    assert way("bus_ends", rule)[1] == [fault]
