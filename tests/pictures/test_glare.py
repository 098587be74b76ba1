"""White and dark under a spot of glare, known beforehand."""

import numpy as np
import pytest

from inventory.pictures import glare

SIDE = 80


@pytest.mark.parametrize("strength", [0.0, 90.0, 190.0])
def test_the_levels_under_a_spot_are_found_from_the_modules(strength) -> None:
    """White 200, dark 30, light that falls off by a fifth, told up to 210, noise of 8."""
    rng = np.random.default_rng(6)
    drawn = np.kron(rng.integers(0, 2, (20, 20)), np.ones((4, 4)))
    x, y = np.meshgrid(*(((np.arange(SIDE) + 0.5) / SIDE - 0.5),) * 2)
    spot = strength * np.exp(-((x - 0.2) ** 2 + (y + 0.1) ** 2) / (2 * 0.15**2))
    white, dark = (
        np.minimum(210, level + spot) * (1 + 0.2 * x - 0.1 * y) for level in (200.0, 30.0)
    )
    seen = white - (white - dark) * drawn + rng.normal(0, 8, drawn.shape)
    found = glare.lit(seen, drawn)

    assert np.abs(found[0] - white).mean() < 4
    assert np.abs(found[1] - dark).mean() < 4


def test_plain_ground_gives_no_levels_that_cannot_be_reckoned_with() -> None:
    """Nothing drawn: whatever is told is a number."""
    levels = glare.lit(np.full((SIDE, SIDE), 128.0), np.zeros((SIDE, SIDE)))

    assert np.isfinite(levels).all()
