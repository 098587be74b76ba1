"""What changes from one kit to another of the same job."""

import itertools
from dataclasses import replace

import pytest

from kitting.plan import configuration, difference, kit
from tests.plan.shipped import NAMES, edition, hand
from tests.plan.small import quantities, work_out


def test_a_module_more_is_a_module_and_its_seal():
    """One module more wants a module, a joint's seal; nothing goes back, and each says why."""
    found = difference.between(work_out(), work_out(stacks=[{"modules": 3}]))

    assert quantities(found.more) == {("module", "look"): 1, ("seal", "join"): 1}
    assert found.less == ()
    assert "3 now - 2 before = 1" in found.more[0].reasons[-1].arithmetic


def test_a_longer_way_is_a_whole_new_piece():
    """From 4 m to 6 m: 6 m in one piece are picked and the 4 m go back, never 2 m more."""
    found = difference.between(work_out(run=4000), work_out(run=6000))

    assert [(net.item, net.pieces) for net in found.to_pick()] == [("cable", (6000,))]
    assert [(net.item, net.pieces) for net in found.to_return()] == [("cable", (4000,))]


def test_the_same_answers_change_nothing():
    """A kit worked out twice from the same answers differs in nothing."""
    found = difference.between(work_out(), work_out())

    assert not found
    assert found.as_json() == {"more": [], "less": [], "to_pick": [], "to_return": []}


def test_an_item_that_only_changes_its_step_is_not_picked_again():
    """What one step no longer wants serves the other step: the shelf sees no change."""
    (line, *rest) = work_out().lines
    moved = difference.of_lines([line, *rest], [replace(line, step="cover"), *rest])

    assert quantities(moved.more) == {(line.item, "cover"): line.quantity}
    assert (moved.to_pick(), moved.to_return()) == ((), ())


@pytest.mark.parametrize("name", NAMES)
def test_what_is_picked_more_and_returned_leads_from_one_list_to_the_other(name):
    """old + to pick - to return = new, item by item, between neighbours of the hand tables."""
    known = edition(name)
    new = [each for each in hand(name).values() if each.get("job", "new") == "new"]
    kits = [kit.work_out(known, configuration.parse(each, known)) for each in new]
    for old, now in itertools.pairwise(kits):
        found = difference.between(old, now)
        sums = _sums(old.lines)
        for net in found.to_pick():
            sums[net.item] = sums.get(net.item, 0) + net.quantity
        for net in found.to_return():
            sums[net.item] -= net.quantity
        assert {item: n for item, n in sums.items() if n} == _sums(now.lines)


def _sums(lines):
    sums = {}
    for line in lines:
        sums[line.item] = sums.get(line.item, 0) + line.quantity
    return sums
