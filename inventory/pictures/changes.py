"""How often dark and light change along a place and across it: what tells a code from words.

A square code changes about as often either way, bars hardly ever along themselves. A line of words
is two or three strokes high.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures.preparing import Grey

EDGE: Final = 5  # the outer fifth is paper
ROWS: Final = 16  # looked at, evenly spread
SOFT: Final = 1.2  # px, sigma of the noise taken off
AROUND: Final = 4  # the part of the longer side over which light is evened out
CLEAR: Final = 0.5  # of the usual difference from grey: less is neither dark nor light


@dataclass(frozen=True, slots=True)
class Changes:
    """The usual number of changes in one row and in one column."""

    across: float
    down: float

    @property
    def like_square(self) -> bool:
        """1.4 and more each way over 912 labels of walls, at most 2.4 times as many one way."""
        fewer, more = sorted((self.across, self.down))
        return fewer > 1.3 and more < 2.5 * fewer

    @property
    def like_bars(self) -> bool:
        """5.2 and more across and 2.9 times those along, even where glare hides most bars."""
        fewer, more = sorted((self.across, self.down))
        return more >= 4.5 and more > 2.5 * fewer


def changes(place: Grey) -> Changes:
    """Count them in the inner part of a place without its quiet zone."""
    soft = cv2.GaussianBlur(place.astype(np.float32), (0, 0), SOFT)
    part = max(9, round(max(place.shape) / AROUND)) | 1
    evened = soft - cv2.blur(soft, (part, part))
    high, wide = (side // EDGE for side in place.shape)
    inner = evened[high : place.shape[0] - high, wide : place.shape[1] - wide]
    return Changes(_usual(inner), _usual(inner.T))


def _usual(pixels: NDArray[np.float32]) -> float:
    least = CLEAR * float(pixels.std())
    rows = pixels[np.linspace(0, len(pixels) - 1, min(ROWS, len(pixels))).astype(int)]
    return float(np.mean([_in_row(row, least) for row in rows]))


def _in_row(row: NDArray[np.float32], least: float) -> int:
    clear = np.sign(row[np.abs(row) > least])
    return int(np.count_nonzero(np.diff(clear)))
