"""Storing and siting (each row names its published source)."""

import pytest

from kitting.plan.figures.siting import within
from tests.reference.facts import cells, check, each, used

FOOT = 304.8


@each(used("storage"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


@each(cells("store.wall"))
def test_gap_between_stacks_is_three_feet(row):
    """NFPA 855 15.3: 3 ft between units; the walls worked out with 914 mm are 3 ft to the mm."""
    feet = cells("store.855.space")[0]["value"]

    assert row["inputs"]["gap_mm"] == pytest.approx(feet * FOOT, abs=0.5)


def test_a_stack_as_one_unit_is_a_question_to_the_authority():
    """Trap: four modules of 6 kWh are over 20 kWh as one unit, within as four units."""
    assert (within(24, 1, "outdoor"), within(6, 4, "outdoor")) == (False, True)
