"""Where the square of modules lies in a place: as far as needed to begin fitting it.

A square code is dark and light in equal parts within, and white at once beyond each of its sides;
a label's own edge is the other way round, and print within has no side that is white all along.
"""

from collections.abc import Callable, Iterator
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures import preparing
from inventory.pictures.preparing import Grey

Floats = NDArray[np.floating[Any]]

MIDDLE: Final = 5  # the outer fifth of a place is ground: its edges say nothing of the code's turn
NEAR: Final = 5  # the fifth of the place's shorter side within which dark and light are looked for
FAINT: Final = 12.0  # grey levels between them, below which it is plain ground
LEAST, MOST = 0.25, 0.75  # of the place's shorter side: what the square's side can be
OFF: Final = 0.12  # of it: how far the square's middle can lie from the place's
TOLD, APART = 3, 0.12  # squares, whose sides or middles are so far apart, in shares of the side
BAND: Final = 14  # the fourteenth of the square's side that is compared within and beyond each side


def squares(place: Grey) -> Iterator[NDArray[np.float64]]:
    """The squares that a code could fill, 4 x 2, px of the place, clockwise; likeliest first.

    Which corner comes first says nothing of how the code is turned. A tiny place has none.
    """
    side = min(place.shape)
    if side < BAND:
        return
    upright = preparing.turned(place, _turn(place))
    edged = _edged(_dark(upright.pixels.astype(np.float32), side))
    height, width = upright.pixels.shape
    steps = np.arange(-int(OFF * side), int(OFF * side) + 1, 2.0)
    sides = np.arange(int(LEAST * side), int(MOST * side), 2.0)
    every = np.stack(np.meshgrid(sides, width / 2 + steps, height / 2 + steps, indexing="ij"))
    scores = edged(*every)
    fine = np.arange(-1.5, 2, 0.5)
    for _ in range(TOLD):
        best = every.reshape(3, -1)[:, scores.argmax()]
        near = np.abs(every - best[:, None, None, None]).max(axis=0) < APART * best[0]
        scores[near] = -1
        large = best[0] + np.arange(-2, 2.5)
        finer = np.stack(np.meshgrid(large, best[1] + fine, best[2] + fine, indexing="ij"))
        large, right, down = finer.reshape(3, -1)[:, edged(*finer).argmax()]
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * large / 2 + (right, down)
        yield np.asarray(corners @ upright.back[:, :2].T + upright.back[:, 2])


def _turn(place: Grey) -> float:
    """Degrees by which to turn rows of modules level, -45 to 45.

    The mean of the edges' directions, four times each, so that all four sides say the same.
    """
    height, width = place.shape
    inner = place[height // MIDDLE : -(height // MIDDLE) or None]
    inner = inner[:, width // MIDDLE : -(width // MIDDLE) or None]
    soft = cv2.GaussianBlur(inner, (0, 0), 1.5).astype(np.float32)
    ways = cv2.Sobel(soft, cv2.CV_32F, 1, 0) + 1j * cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    fourfold = (ways**4 / np.maximum(np.abs(ways), 1e-3) ** 2).sum()
    return float(np.degrees(np.angle(fourfold)) / 4)


def _dark(pixels: Floats, side: int) -> Floats:
    """How dark each px is between the light and the dark round it, 0 to 1."""
    near = max(9, side // NEAR) | 1
    round_ = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (near, near))
    soft = cv2.GaussianBlur(pixels, (0, 0), 1.0)
    light = cv2.GaussianBlur(cv2.dilate(soft, round_), (0, 0), near / 3)
    dark = cv2.GaussianBlur(cv2.erode(soft, round_), (0, 0), near / 3)
    return np.asarray(np.clip((light - pixels) / np.maximum(light - dark, FAINT), 0, 1))


def _edged(dark: Floats) -> Callable[[Floats, Floats, Floats], Floats]:
    """How much darker squares are within their sides than beyond; sides and middles in px."""
    sums = cv2.integral(dark.astype(np.float32), sdepth=cv2.CV_64F)
    height, width = dark.shape

    def mean(top: Floats, bottom: Floats, left: Floats, right: Floats) -> Floats:
        top, bottom = (np.clip(row, 0, height).astype(int) for row in (top, bottom))
        left, right = (np.clip(column, 0, width).astype(int) for column in (left, right))
        total = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
        return np.asarray(total / np.maximum((bottom - top) * (right - left), 1))

    def edged(side: Floats, right: Floats, down: Floats) -> Floats:
        band = np.maximum(2, np.round(side / BAND))
        x, y = np.round(right - side / 2), np.round(down - side / 2)
        far, low = x + np.round(side), y + np.round(side)
        differences = (
            mean(y, y + band, x, far) - mean(y - band, y, x, far),
            mean(low - band, low, x, far) - mean(low, low + band, x, far),
            mean(y, low, x, x + band) - mean(y, low, x - band, x),
            mean(y, low, far - band, far) - mean(y, low, far, far + band),
        )
        # Roots, so that four fair sides are more than three strong ones.
        return np.asarray(sum(np.sqrt(np.maximum(each, 0)) for each in differences))

    return edged
