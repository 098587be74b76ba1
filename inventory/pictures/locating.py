"""Where something that could be a code lies in a large picture: the places, not the texts.

A code is a piece of many hard edges on plain ground. Nothing is decoded here, so a place found in
vain costs time and no wrong read.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from inventory.pictures.preparing import Grey

SCALES: Final = (4, 16)
"""How many times smaller the picture is looked at: noise is averaged out, and it is quick. The
coarse look keeps the bars of a large label together, which the fine one takes for many things."""
SMALLEST: Final = 6  # px of the smaller picture, the longer side of a place
THINNEST: Final = 3  # px of the smaller picture, its shorter side
LARGEST: Final = 0.95  # of the picture's longer side; more is a shelf's edge, not a label
USUAL: Final = 2.5  # times the picture's usual strength of edges
STRONG: Final = 0.35  # of the picture's strongest edges; a place has more than either
PADDING: Final = 0.15  # of the place's longer side, on each side: quiet zones belong to a code
SAME: Final = 0.7  # of two places' common ground that they share: one place seen twice


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to look at closely."""

    x: int  # px, left
    y: int  # px, top
    width: int  # px, quiet zone included
    height: int  # px

    def crop(self, grey: Grey) -> Grey:
        """The pixels of the place."""
        return grey[self.y : self.y + self.height, self.x : self.x + self.width]

    def holds(self, x: float, y: float) -> bool:
        """Whether the point lies in the place."""
        return self.x <= x < self.x + self.width and self.y <= y < self.y + self.height

    def like(self, other: "Spot") -> bool:
        """Whether the two are nearly the same ground."""
        wide = min(self.x + self.width, other.x + other.width) - max(self.x, other.x)
        high = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        common = max(0, wide) * max(0, high)
        return common >= SAME * (self.width * self.height + other.width * other.height - common)


def spots(grey: Grey) -> list[Spot]:
    """Places that could be codes, small ones first, of those the strongest edges first."""
    found: list[Spot] = []
    for scale in SCALES:
        found += [s for s in _at_scale(grey, scale) if not any(s.like(old) for old in found)]
    return found


def _at_scale(grey: Grey, scale: int) -> list[Spot]:
    height, width = grey.shape
    size = (max(1, width // scale), max(1, height // scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), 0.7).astype(np.float32)
    right, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    energy = cv2.GaussianBlur(np.hypot(right, down), (0, 0), 2.0)
    least = max(USUAL * float(np.median(energy)), STRONG * float(np.percentile(energy, 99.5)), 1.0)
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    loud = cv2.morphologyEx((energy > least).astype(np.uint8), cv2.MORPH_CLOSE, shape)
    count, _, stats, _ = cv2.connectedComponentsWithStats(loud, connectivity=8)
    found = []
    for x, y, wide, high in stats[1:count, :4].tolist():
        if max(wide, high) < SMALLEST or min(wide, high) < THINNEST:
            continue
        if max(wide, high) * scale <= LARGEST * max(width, height):
            strength = float(energy[y : y + high, x : x + wide].mean())
            found.append((strength, _padded((x, y, wide, high), scale, width, height)))
    return [spot for _, spot in sorted(found, key=lambda pair: -pair[0])]


def _padded(box: tuple[int, int, int, int], scale: int, width: int, height: int) -> Spot:
    """The place at full size with its quiet zone, within the picture."""
    x, y, wide, high = (side * scale for side in box)
    edge = round(PADDING * max(wide, high)) + scale
    left, top = max(0, x - edge), max(0, y - edge)
    return Spot(left, top, min(width, x + wide + edge) - left, min(height, y + high + edge) - top)
