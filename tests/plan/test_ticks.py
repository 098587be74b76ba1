"""What is ticked at a stack: few, each need once, whatever the job."""

from __future__ import annotations

import pytest

from kitting.plan.needs import NEEDS, REMOVAL, STANDING, arises
from kitting.plan.ticks import DEFAULT, TICKS, Asked, asked

WANTED = DEFAULT.split(",")
MOST = 6  # a stack, by the design of this project; no outside source


@pytest.mark.parametrize("job", ["new", "expansion", "swap", "removal"])
def test_at_most_six_a_stack_even_where_every_need_arises(job: str) -> None:
    """All needs of a job at two stacks, some of them nowhere in particular."""
    every = [name for name, need in NEEDS.items() if arises(need, job) or need.kind == "raised"]
    needed = [(name, place) for name in every for place in ("stack 1", "stack 2 place 3", "system")]
    found = asked(needed, WANTED)

    for stack in (1, 2):
        mine = [tick.key for tick in found if tick.stack == stack]
        assert 1 <= len(mine) <= MOST
        assert len(mine) == len(set(mine))
    assert sum(tick.photo for tick in found) <= 2
    assert {tick.stack for tick in found} == {1, 2}


def test_each_need_is_in_one_tick_at_most_and_every_joint_in_one() -> None:
    """One tick for all like joints: none is looked over twice, none never."""
    named = [need for tick in TICKS.values() for need in tick.needs]

    assert len(named) == len(set(named))
    assert set(named) <= set(NEEDS)
    joints = {name for name, need in NEEDS.items() if need.per in ("joint", "link", "gap", "bus")}
    fixed = {name for name, need in NEEDS.items() if need.kind in (STANDING, REMOVAL)}
    assert joints <= set(named)
    assert fixed - set(named) == {
        *("place module", "place head"),  # each is scanned into its place
        *("support cable", "enclose cable", "dispense"),  # seen with what it holds or seals
    }


def test_what_belongs_to_no_stack_counts_with_the_first_that_is_worked_at() -> None:
    """An expansion of the second stack: its label, "system", is ticked there."""
    needed = [("label", "system"), ("cover: front", "stack 2"), ("join units", "stack 2 place 3")]

    assert asked(needed, WANTED) == [
        Asked(2, "joined", TICKS["joined"].words, photo=False),
        Asked(2, "covered", TICKS["covered"].words, photo=True),
    ]
    assert asked([("label", "system")], ["covered"])[0].stack == 1
    assert asked(needed, []) == []
