"""Lifting by hand: NIOSH 94-110 and HSE (each row names its published source)."""

import pytest

from kitting.plan.figure import ask
from kitting.plan.figures.lifting import INCH, reach_factor, team
from kitting.plan.inputs import Wrong
from tests.reference.facts import check, each, used


@each(used("lifting"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


def test_the_printed_horizontal_multiplier_rules_the_worksheet():
    """Trap: table 1 prints .44 at 23 inch, 10/H gives .435; the manual's 16.3 lb needs .44."""
    worksheet = {"L": 44, "H": 23, "V": 15, "D": 49, "A": 0, "F": 0.2, "dur": "<=1h", "C": "fair"}
    answer = ask("lift.ex", worksheet).value

    assert reach_factor(23, INCH) == pytest.approx(0.435, abs=0.0005)
    assert (answer["RWL_lb"], answer["RWL_full_precision"]) == (16.3, 16.02)


def test_two_people_share_two_thirds():
    """Trap: 2/3 of 40 is 26.67, one page prints 26.6; four people have no figure at HSE."""
    assert team([20, 20]) == pytest.approx(26.67, abs=0.1)
    with pytest.raises(Wrong, match="expected 1 to 3 people"):
        team([20] * 4)


@pytest.mark.parametrize(
    ("figure", "inputs", "value"),
    [
        ("lift.HM", {"H_cm": 10}, 1.0),
        ("lift.DM", {"D_cm": 5}, 1.0),
        ("lift.DM", {"D_cm": 176}, 0.0),
        ("lift.FM", {"lifts_per_min": 0.1, "duration": "2-8h", "V": "<30in"}, 0.85),
        ("lift.FM", {"lifts_per_min": 16, "duration": "<=1h", "V": ">=30in"}, 0.0),
    ],
)
def test_beyond_the_tables(figure, inputs, value):
    """NIOSH's limits: H, D below 25 cm count as 25; D above 175 cm, F above 15 give nothing."""
    assert ask(figure, inputs).value == pytest.approx(value, abs=0.001)
