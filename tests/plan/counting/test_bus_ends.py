"""Two ends per bus, less those inside a unit."""

import pytest

from tests.plan.small import counted, way


@pytest.mark.parametrize(
    ("built_in", "buses", "wanted"),
    [
        (0, 1, {"bolt": 2}),
        (1, 1, {"bolt": 1}),
        (2, 1, {}),  # both inside: nothing to bring
        (1, 3, {"bolt": 3}),
    ],
)
def test_a_bus_has_two_ends(built_in, buses, wanted):
    """Each bus takes two terminators, built-in ones among them."""
    rule = f'plug = "bolt"\nbuilt_in = {built_in}'

    assert counted("bus_ends", rule, number=2 * buses)[0] == wanted


def test_a_third_end_is_a_fault():
    """No bus has three ends."""
    assert way("bus_ends", 'plug = "bolt"\nbuilt_in = 3')[1] == [
        "rule: built_in: expected a whole number from 0 to 2, got 3"
    ]
