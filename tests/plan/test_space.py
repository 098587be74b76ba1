"""Configurations drawn by chance and by walking are legal and repeatable."""

import pytest

from kitting.plan import configuration, kit, space
from tests.plan.shipped import NAMES, edition


@pytest.mark.parametrize("name", NAMES)
def test_a_drawn_configuration_is_legal_and_repeatable(name):
    """The same seed draws the same; others differ; none is refused."""
    known = edition(name)
    drawn = [space.by_chance(known, seed) for seed in range(20)]

    assert drawn == [space.by_chance(known, seed) for seed in range(20)]
    assert len({str(one) for one in drawn}) > 15
    for one in drawn:
        assert kit.work_out(known, configuration.parse(one, known)).refused == ()


def test_a_wanted_shape_is_kept():
    """A bench asks for two stacks of four."""
    drawn = [space.by_chance(edition("tower"), seed, (4, 4)) for seed in range(5)]

    assert all(one["stacks"] == [{"modules": 4}] * 2 for one in drawn)
