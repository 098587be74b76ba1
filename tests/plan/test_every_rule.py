"""No rule of a shipped family is there for nothing, and none can be missing unnoticed."""

import dataclasses

import pytest

from kitting.plan import configuration, kit, proof
from tests.counts import FULL
from tests.plan.shipped import NAMES, checked, edition

WHOLE = ("tower", "row") if FULL else ()
"""Families of which each edition short of a rule is checked from end to end: some minutes; the
third would take an hour. Else the sources of needs whose outcomes were seen to use that rule are
walked; no other can have changed."""


def first_fault(name, known, rule):
    """The smallest fault of an edition that lacks a rule."""
    if name in WHOLE:
        return min(proof.check(known).faults, key=proof.Found.weight)
    whole = checked(name)
    return proof.first_fault(known, whole.users[rule.name], whole.first[rule.name])


@pytest.mark.parametrize("name", NAMES)
def test_the_check_misses_any_rule_taken_out(name):
    """Each rule: the check fails without it, and the kit of its counter-example is refused."""
    known = edition(name)

    assert checked(name).users.keys() == {rule.name for rule in known.rules}
    assert len(known.rules) >= 25
    assert len(known.items) >= 45
    for taken in known.rules:
        left = tuple(rule for rule in known.rules if rule is not taken)
        without = dataclasses.replace(known, rules=left, meeting={})
        fault = first_fault(name, without, taken)
        assert fault is not None, taken.name
        found = kit.work_out(without, configuration.parse(fault.example, without))
        assert fault.message in {refusal.message for refusal in found.refused}, taken.name
