"""A preparation knows the way back to the picture it came from."""

import numpy as np
import pytest

from inventory.pictures import preparing
from inventory.pictures.preparing import turned

STEPS = (
    preparing.raw,
    preparing.clahe,
    preparing.doubled,
    preparing.smoothed,
    preparing.sharpened,
    preparing.refocused,
    preparing.refocused_far,
    lambda grey: turned(grey, 20),
    lambda grey: turned(grey, -45),
    lambda grey: preparing.shrunk(grey, 30_000),
)


@pytest.mark.parametrize("prepare", STEPS)
def test_a_dark_spot_is_found_where_it_was(prepare) -> None:
    """The spot's middle in the prepared picture, taken back, is its middle in the original."""
    grey = np.full((240, 320), 220, np.uint8)
    grey[60:80, 200:230] = 10
    prepared = prepare(grey)
    ys, xs = np.nonzero(prepared.pixels < 90)
    there = prepared.back[:, :2] @ (xs.mean(), ys.mean()) + prepared.back[:, 2]

    assert there == pytest.approx((214.5, 69.5), abs=2)


def test_shrinking_keeps_a_small_picture() -> None:
    """Nothing is done to a picture within the limit."""
    grey = np.zeros((100, 100), np.uint8)

    assert preparing.shrunk(grey, 10_000).pixels is grey
    assert preparing.shrunk(grey, 2_500).pixels.shape == (50, 50)
    assert preparing.shrunk(np.zeros((97, 103), np.uint8), 2_500).pixels.size <= 2_500
