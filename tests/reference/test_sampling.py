"""Acceptance sampling: ISO 2859-1 plans and what they let pass (each row names its source)."""

from kitting.plan.figures.sampling import hypergeometric, letters, plan
from tests.reference.facts import check, each, sheet, used

LOTS = sheet("second/lot_letters")


@each(used("sampling"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


def test_each_lot_range_has_its_letter():
    """ANSI/ASQ Z1.4 table 1 has the same ranges at both ends."""
    uptos = {row["value"]: int(row["lot"]) for row in LOTS}

    assert uptos == {letter: upto for upto, letter, _ in letters() if upto is not None}


def test_a_plan_that_reaches_the_lot_looks_at_all():
    """Trap: ten pieces at AQL 0.65 need 20, so all ten are looked at."""
    found = plan(10, 0.65, "II", "normal single")

    assert (found["n"], found["plan_n"], found["inspect_all"]) == (10, 20, True)


def test_a_sample_often_misses_two_bad_pieces():
    """13 from 50 pass a lot with two bad pieces more often than not."""
    assert hypergeometric(50, 2, 13, 0) > 0.5
