"""Where something that could be a code lies in a large picture: the places, not the texts.

A code is a piece of many hard edges on plain ground. Nothing is decoded here, so a place found in
vain costs time and no wrong read.
"""

from dataclasses import dataclass
from math import degrees
from typing import Final

import cv2
import numpy as np

from inventory.pictures.preparing import Grey

SCALE: Final = 4
"""The picture is looked at this many times smaller: noise is averaged out, and it is quick."""
SMALLEST: Final = 24  # px of the picture, the longer side of a place
LARGEST: Final = 0.6  # of the picture's longer side; more is a shelf's edge, not a label
LOUD: Final = 2.5  # times the picture's usual edge strength
PADDING: Final = 0.15  # of the place's longer side, on each side: quiet zones belong to a code
LINED: Final = 0.55  # of the edges run one way: it is a line code


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to look at closely."""

    x: int  # px, left
    y: int  # px, top
    width: int  # px, quiet zone included
    height: int  # px
    lined: bool  # edges run one way, as those of a line code
    turn: float  # degrees that make a line code's bars stand upright, -90 to 90; 0 for others

    def crop(self, grey: Grey) -> Grey:
        """The pixels of the place."""
        return grey[self.y : self.y + self.height, self.x : self.x + self.width]

    def holds(self, x: float, y: float) -> bool:
        """Whether the point lies in the place."""
        return self.x <= x < self.x + self.width and self.y <= y < self.y + self.height


def spots(grey: Grey) -> list[Spot]:
    """Places that could be codes, the strongest edges first. grey: 8 bits, rows first."""
    height, width = grey.shape
    small = cv2.resize(
        grey, (max(1, width // SCALE), max(1, height // SCALE)), interpolation=cv2.INTER_AREA
    )
    soft = cv2.GaussianBlur(small, (0, 0), 0.7).astype(np.float32)
    right, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    energy = cv2.GaussianBlur(np.hypot(right, down), (0, 0), 2.0)
    usual = float(np.median(energy)) + 1.0
    loud = (energy > max(LOUD * usual, 0.35 * float(np.percentile(energy, 99.5)))).astype(np.uint8)
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    loud = cv2.morphologyEx(loud, cv2.MORPH_CLOSE, shape)
    count, _, stats, _ = cv2.connectedComponentsWithStats(loud, connectivity=8)
    found = []
    for number in range(1, count):
        x, y, wide, high, _ = (int(value) for value in stats[number])
        if not SMALLEST <= max(wide, high) * SCALE <= LARGEST * max(width, height):
            continue
        if min(wide, high) * SCALE < SMALLEST // 2:
            continue
        part = np.s_[y : y + high, x : x + wide]
        strength = float(energy[part].mean())
        found.append((strength, _spot(x, y, wide, high, right[part], down[part], grey.shape)))
    return [spot for _, spot in sorted(found, key=lambda pair: -pair[0])]


def _spot(x, y, wide, high, right, down, shape) -> Spot:
    """The place at full size, padded, with the way its edges run."""
    one, other, both = (right**2).sum(), (down**2).sum(), (right * down).sum()
    total = float(one + other) + 1e-6
    coherence = float(np.hypot(one - other, 2 * both)) / total
    angle = 0.5 * degrees(np.arctan2(2 * both, one - other))
    edge = round(PADDING * max(wide, high) * SCALE) + SCALE
    left, top = max(0, x * SCALE - edge), max(0, y * SCALE - edge)
    end_x = min(shape[1], (x + wide) * SCALE + edge)
    end_y = min(shape[0], (y + high) * SCALE + edge)
    lined = coherence > LINED
    return Spot(left, top, end_x - left, end_y - top, lined, angle if lined else 0.0)
