"""No rule of a shipped family is there for nothing."""

import dataclasses

import pytest

from kitting.plan import configuration, kit, space
from kitting.plan.meeting import Met, meet, needs
from tests.plan.shipped import NAMES, edition, hand


def users(known):
    """Rule -> a configuration that it meets a need of."""
    given = [*hand_worked(known), *(space.by_chance(known, seed) for seed in range(150))]
    found = {}
    for data in (configuration.parse(one, known) for one in given):
        met = Met()
        meet(known, data.site(), needs(known, data.site(), data.job, met), met)
        for _, rule in met.answered:
            found.setdefault(rule.name, data)
    return found


def hand_worked(known):
    return hand(known.name).values()


@pytest.mark.parametrize("name", NAMES)
def test_any_rule_taken_out_leaves_no_kit(name):
    """For each rule there is a configuration that is refused without it."""
    known = edition(name)
    found = users(known)

    assert found.keys() == {rule.name for rule in known.rules}
    assert len(known.rules) >= 25
    assert len(known.items) >= 45
    for taken in known.rules:
        left = tuple(rule for rule in known.rules if rule is not taken)
        without = dataclasses.replace(known, rules=left, meeting={})
        assert kit.work_out(without, found[taken.name]).refused, taken.name
