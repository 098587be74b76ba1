"""Where something that could be a code lies in a large picture: the places, not the texts.

A code is a piece of many hard edges on plain ground. Nothing is decoded here, so a place found in
vain costs time and no wrong read.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures.preparing import Grey

Look = tuple[int, int]
"""How many times smaller the picture is looked at: noise is averaged out, and it is quick; and over
how many px of that a gap is bridged."""
LOOKS: Final[tuple[Look, ...]] = ((4, 5), (16, 5))
"""The coarse look keeps the bars of a large label together, which the fine one takes for many
things."""
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
    core: tuple[int, int, int, int] = (0, 0, 0, 0)  # x, y, width, height in px without that

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


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """How strong the edges are round each pixel of a smaller picture."""

    scale: int  # times smaller
    energy: NDArray[np.float32]
    least: float  # of a place that could be a code

    def filled(self, spot: Spot) -> float:
        """How strong they are in the inner half of a place, against the least: print fills it."""
        sides = (spot.x, spot.y, spot.width, spot.height)
        x, y, wide, high = (side / self.scale for side in sides)
        rows = slice(int(y + high / 4), ceil(y + high * 3 / 4))
        inner = self.energy[rows, int(x + wide / 4) : ceil(x + wide * 3 / 4)]
        return float(inner.mean()) / self.least


def edges(grey: Grey, scale: int) -> Edges:
    """The edges of a picture made `scale` times smaller, against its usual and its strongest."""
    height, width = grey.shape
    size = (max(1, width // scale), max(1, height // scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), 0.7).astype(np.float32)
    right, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    energy = np.asarray(cv2.GaussianBlur(np.hypot(right, down), (0, 0), 2.0), np.float32)
    least = max(USUAL * float(np.median(energy)), STRONG * float(np.percentile(energy, 99.5)), 1.0)
    return Edges(scale, energy, least)


def spots(grey: Grey, looks: Sequence[Look] = LOOKS, read: Sequence[Spot] = ()) -> list[Spot]:
    """Places that could be codes, small ones first, of those the strongest edges first.

    read: ground of codes that is left out, so that a label close to them is found by itself.
    """
    found: list[Spot] = []
    for scale, gap in looks:
        seen = _seen(grey, edges(grey, scale), gap, read)
        found += [s for s in seen if not any(s.like(old) for old in found)]
    return found


def _seen(grey: Grey, strong: Edges, gap: int, read: Sequence[Spot]) -> list[Spot]:
    height, width = grey.shape
    scale = strong.scale
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (gap, gap))
    loud = (strong.energy > strong.least).astype(np.uint8)
    loud = cv2.morphologyEx(loud, cv2.MORPH_CLOSE, shape).astype(np.uint8)
    for spot in read:
        rows = slice(spot.y // scale, ceil((spot.y + spot.height) / scale))
        loud[rows, spot.x // scale : ceil((spot.x + spot.width) / scale)] = 0
    count, _, stats, _ = cv2.connectedComponentsWithStats(loud, connectivity=8)
    found = []
    for x, y, wide, high in stats[1:count, :4].tolist():
        if max(wide, high) < SMALLEST or min(wide, high) < THINNEST:
            continue
        if max(wide, high) * scale <= LARGEST * max(width, height):
            strength = float(strong.energy[y : y + high, x : x + wide].mean())
            found.append((strength, _padded((x, y, wide, high), scale, width, height)))
    return [spot for _, spot in sorted(found, key=lambda pair: -pair[0])]


def _padded(box: tuple[int, int, int, int], scale: int, width: int, height: int) -> Spot:
    """The place at full size with its quiet zone, within the picture."""
    x, y, wide, high = (side * scale for side in box)
    edge = round(PADDING * max(wide, high)) + scale
    left, top = max(0, x - edge), max(0, y - edge)
    right, bottom = min(width, x + wide + edge), min(height, y + high + edge)
    return Spot(left, top, right - left, bottom - top, (x, y, wide, high))
