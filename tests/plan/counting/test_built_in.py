"""Nothing to bring, and a reason for it."""

from tests.plan.small import counted, way


def test_built_in_gives_nothing():
    """The need is met and takes no line."""
    assert counted("built_in", 'why = "the joint carries its own gasket"') == ({}, [])


def test_built_in_keeps_its_reason():
    """What the kit says about it is the family's sentence."""
    found, faults, _ = way("built_in", 'why = "the joint carries its own gasket"')

    assert (found.why, faults) == ("the joint carries its own gasket", [])


def test_built_in_without_a_reason_is_a_fault():
    """Silence is no answer to a need."""
    assert way("built_in", "")[1] == ["rule: why: expected a text, got nothing"]
