"""The text of the least misfit is found among all texts; what glare left nothing of says nothing.

Bars as zxing-cpp draws them.
"""

import numpy as np
import pytest

from inventory.pictures import weighing
from inventory.pictures.weighing import FINE, GROUND, WIDE
from tests.pictures.test_fitting import bars

BLUR = 0.5  # modules


@pytest.mark.parametrize("text", ["SN0123456789", "ab-12/XY"])
def test_bars_drawn_by_another_are_told(text) -> None:
    """Drawn again from the symbols they are the same bars."""
    dark = np.pad(np.repeat(bars(text), FINE), GROUND * FINE)
    symbols, _ = weighing.best(dark, np.ones_like(dark), BLUR)

    assert np.abs(weighing.drawn(symbols, 0.1, len(dark)) - dark).mean() < 0.05


def test_samples_without_weight_say_nothing_within_a_symbol_too() -> None:
    """Two modules of each third symbol are as dark as they should be light."""
    dark = np.pad(np.repeat(bars(), FINE), GROUND * FINE)
    symbols, _ = weighing.best(dark, np.ones_like(dark), BLUR)
    dark = weighing.drawn(symbols, BLUR, len(dark))
    weight = np.ones_like(dark)
    for place in range(1, len(symbols) - 2, 3):
        spoilt = slice((GROUND + place * WIDE + 6) * FINE, (GROUND + place * WIDE + 8) * FINE)
        dark[spoilt], weight[spoilt] = 1 - dark[spoilt], 0

    assert weighing.best(dark, weight, BLUR)[0] == symbols
