"""Carrying batteries: ADR, lashing, vans, energies (each row names its published source)."""

import pytest

from kitting.plan.figures.lashing import straps
from kitting.plan.figures.transport import category, judge
from kitting.plan.figures.vans import payload
from tests.reference.facts import cells, check, each, used


@each(used("transport"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


@each([row for row in used("transport") if row["id"].startswith("adr.cat.")])
def test_greatest_quantities_follow_from_the_multipliers(row):
    """ADR 1.1.3.6.4: a category alone reaches 1000 points at its greatest quantity of 1.1.3.6.3."""
    multiplier, most = category(row["inputs"]["category"])

    assert 1000 // multiplier == most == row["value"]["max_total"]


@pytest.mark.parametrize(
    ("kg", "within"), [(333, True), (333.3, False), (333.34, False), (334, False)]
)
def test_both_tests_hold(kg, within):
    """Trap: 333.3 kg are 999.9 points, yet over the category's own 333 kg."""
    assert judge([(2, kg)]).within is within


def test_the_driver_is_not_subtracted_twice():
    """Trap: EU mass in running order holds a 75 kg driver (Reg. (EU) 1230/2012)."""
    with_driver, without = [one["value"] for one in cells("van.payload")][:2]

    assert with_driver - without == 75
    assert payload(3500, 2150, True, 1, 75, 120) == with_driver


def test_a_van_is_held_harder_than_a_lorry():
    """Trap: EN 12195-1:2010 does not apply to 3.5 t or less; VDI 2700 sheet 16 asks 0.9 g forward
    up to 2 t and 0.6 g sideways up to 3.5 t."""
    assert cells("lash.scope")[0]["value"] == 3500
    lorry = straps(300, 0.3, 0.5, 1.1, 300, 60)["n"]
    van = straps(300, 0.3, 0.6, 1.1, 300, 60)["n"]
    assert van == pytest.approx(lorry * 1.5, rel=0.01)
