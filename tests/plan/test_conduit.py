"""Conduit by fill, by the exact rule of NEC chapter 9."""

import math

import pytest

from kitting.plan import conduit
from kitting.plan.conductors import NoFigure, insulated

TRADES = ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2")
PRINTED = {
    "14": (12, 22, 35, 61, 84, 138),
    "12": (9, 16, 26, 45, 61, 101),
    "10": (5, 10, 16, 28, 38, 63),
    "8": (3, 6, 9, 16, 22, 36),
    "6": (2, 4, 7, 12, 16, 26),
    "4": (1, 2, 4, 7, 10, 16),
    "3": (1, 1, 3, 6, 8, 13),
    "2": (1, 1, 3, 5, 7, 11),
    "1": (1, 1, 1, 4, 5, 8),
    "1/0": (1, 1, 1, 3, 4, 7),
    "2/0": (0, 1, 1, 2, 3, 6),
    "3/0": (0, 1, 1, 1, 3, 5),
}
"""NEC annex C table C.1, EMT with THWN-2: a stored copy on an electrician's page."""


@pytest.mark.parametrize("awg", PRINTED)
def test_the_printed_counts_of_like_conductors(awg):
    """All 72 counts of annex C table C.1 come out exactly, 1-1/4 with 6 AWG among them: 12, where
    the rounded 40 % column would give 11."""
    each = insulated(awg)[1]

    assert tuple(conduit.most(conduit.area("EMT", t), each) for t in TRADES) == PRINTED[awg]


def test_the_rounded_column_is_one_short():
    """The reason for the exact rule: 0.598 / 0.0507 = 11.795, 0.40 x 1.496 / 0.0507 = 11.803."""
    assert round(conduit.limit(1.496, 3), 3) == 0.598
    assert math.floor(0.598 / 0.0507 + 0.2) == 11
    assert conduit.most(1.496, 0.0507) == 12


def test_a_conduit_that_takes_many_takes_fewer():
    """No count is allowed whose smaller count is refused, over all sizes: 31 % for two never bars
    what 40 % lets in."""
    for trade in TRADES:
        whole = conduit.area("EMT", trade)
        for awg in PRINTED:
            each = insulated(awg)[1]
            for number in range(1, conduit.most(whole, each) + 1):
                assert number * each <= conduit.limit(whole, number) + 0.2 * each
                assert conduit.takes(whole, [each] * number)
            assert not conduit.takes(whole, [each] * (conduit.most(whole, each) + 1))


@pytest.mark.parametrize(
    ("trade", "held", "percent"),
    [  # note 6 with tables 4 and 5
        ("3/4", {"6": 3, "10": 1}, 32.5),
        ("1-1/4", {"2": 3, "6": 1}, 26.61),
        ("3/4", {"8": 4}, 27.47),
    ],
)
def test_mixed_conductors_fill_a_percentage(trade, held, percent):
    """Sum of the areas over the inner section, at most 40 %."""
    areas = [insulated(awg)[1] for awg, count in held.items() for _ in range(count)]

    assert conduit.filled(conduit.area("EMT", trade), areas) == pytest.approx(percent, abs=0.05)
    assert conduit.takes(conduit.area("EMT", trade), areas)


def test_mixed_conductors_do_not_round_up():
    """Note 7 is for like conductors: 0.401 of the section is refused."""
    assert conduit.takes(1, [0.2, 0.1, 0.1])
    assert not conduit.takes(1, [0.2, 0.1, 0.101])
    assert not conduit.takes(1, [0.2, 0.111])  # two: 31 %


def test_a_nipple_takes_sixty_per_cent():
    """Chapter 9 note 4: at most 24 inch long."""
    assert conduit.most(0.304, 0.0133, nipple=True) == 13
    assert conduit.takes(0.304, [0.1, 0.05, 0.03], nipple=True)
    assert not conduit.takes(0.304, [0.1, 0.05, 0.04], nipple=True)


def test_a_cable_counts_as_its_circle():
    """Note 9: one cable of 16 mm in 3/4 EMT fills 58 %, over 53 %; in 1 inch 36 %. A decimal of 0.8
    is not rounded up for a cable."""
    each = conduit.circle(16)
    held = [conduit.takes(whole, [each], cables=True) for whole in (0.533, 0.864)]

    assert conduit.filled(0.533, [each]) == pytest.approx(58.5, abs=0.1)
    assert held == [False, True]
    assert conduit.takes(0.533, [each])  # a single conductor: 0.907 counts as one (note 7)


@pytest.mark.parametrize("trade", TRADES)
def test_a_section_is_that_of_its_diameter(trade):
    """NEC table 4: the area is that of the circle inside, both as printed; the wall is outside."""
    across = conduit.inner("EMT", trade)

    assert math.pi / 4 * across**2 == pytest.approx(conduit.area("EMT", trade), abs=0.001)
    assert conduit.outer("EMT", trade) > across


def test_a_size_nobody_listed_has_no_figure():
    """Never the nearest."""
    with pytest.raises(NoFigure, match=r"^no published figure for RMC 5/8$"):
        conduit.area("RMC", "5/8")
    with pytest.raises(NoFigure, match=r"^no published figure for RMC 1/2$"):
        conduit.inner("RMC", "1/2")
