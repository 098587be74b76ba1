"""A line code ironed: bars made straight, averaged along their length, and their blur taken back.

A bar is the same from end to end, so the mean along it has far less noise than any line through
it: little enough to undo a lens out of focus, which would only raise noise in a whole picture.
Nothing is decoded here. What comes out is a picture of stripes, one band for each guess of the
blur, and a decoder finds the band that has a code.
"""

from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures.bars import Bars, find, upright
from inventory.pictures.preparing import Grey, Prepared

Rows = NDArray[np.float32]

PARTS: Final = 5
"""A scratch or a patch of glare spoils one part of the bars' length, not all."""
LARGER: Final = 3
"""Widths of bars are told to a part of a px."""
BLURS: Final = (0.5, 0.8, 1.2, 1.8)
"""px, sigma: the guesses."""
ROUNDS: Final = 15  # more bring out noise
NEAR: Final = 0.15
"""Of the length: how far round a bar light and dark are looked for."""
BAND: Final = 12  # px, height of each band
WHITE: Final = 10  # px on each side, times LARGER
ENDS: Final = 0.12
"""Of the bars' length, left out at each end: print below, the corners of a tilted label."""
LEAST_ROWS: Final = 4  # px; a lower strip has nothing to average
LEAST_LEAN: Final = 0.3  # px
STEPS: Final = 60  # most codes need ten: a bound for pictures that are none
STUDIED: Final = 24  # rows that are enough to see how the bars lean


def all_ironed(grey: Grey) -> list[Prepared]:
    """Each place that looks like a line code, ironed."""
    views = (ironed(grey, place) for place in find(grey))
    return [view for view in views if view is not None]


def ironed(grey: Grey, bars: Bars) -> Prepared | None:
    """The code as stripes, a band for each blur; None where its bars are too short."""
    crop = upright(grey, bars)
    height, width = crop.pixels.shape
    if height < LEAST_ROWS:
        return None
    cut = int(height * ENDS)
    straight = straightened(crop.pixels[cut : height - cut].astype(np.float32))
    parts = [straight, *np.array_split(straight, min(PARTS, len(straight)))]
    lines = np.concatenate(
        [cv2.resize(part, (width, 1), interpolation=cv2.INTER_AREA) for part in parts]
    )
    size = (width * LARGER, len(lines))
    lines = _rows(cv2.resize(lines, size, interpolation=cv2.INTER_CUBIC))
    bands = [levelled(unblurred(lines, gaussian(LARGER * blur))) for blur in BLURS]
    stripes = np.repeat(np.concatenate(bands), BAND, axis=0)
    edge = WHITE * LARGER
    pixels = np.pad(stripes, ((BAND, BAND), (edge, edge)), constant_values=255).astype(np.uint8)
    flat = np.array([[width / pixels.shape[1], 0], [0, height / pixels.shape[0]]])
    return Prepared(pixels, np.column_stack([crop.back[:, :2] @ flat, crop.back[:, 2]]), one=True)


def straightened(crop: Rows) -> Rows:
    """The crop with its bars upright: leaning as a whole, and fanned out by a tilt, put right."""
    few = min(len(crop), STUDIED)
    study = _rows(cv2.resize(crop, (crop.shape[1], few), interpolation=cv2.INTER_AREA))
    lean = np.zeros(2)  # px from the first row to the last: of the middle, and of end against end
    best, step = _contrast(study, lean), max(2.0, 0.06 * len(crop))
    for _ in range(STEPS):
        tries = [lean + step * np.array(way) for way in ((1, 0), (-1, 0), (0, 1), (0, -1))]
        scores = [_contrast(study, each) for each in tries]
        if max(scores) > best:
            best, lean = max(scores), tries[int(np.argmax(scores))]
        else:
            step /= 2
            if step < LEAST_LEAN:
                break
    return _leant(crop, lean)


def gaussian(sigma: float) -> Rows:
    """A soft blur along a line, as the weights of its px."""
    return _rows(cv2.getGaussianKernel(2 * int(4 * sigma) + 1, sigma)).T


def unblurred(lines: Rows, blur: Rows) -> Rows:
    """Each line as it was before the blur.

    Source: W. H. Richardson, Bayesian-based iterative method of image restoration, Journal of the
    Optical Society of America 62 (1972); L. B. Lucy, Astronomical Journal 79 (1974).
    """
    seen = np.maximum(lines, 1.0)
    guess = seen.copy()
    for _ in range(ROUNDS):
        guess = guess * _blurred(_rows(seen / np.maximum(_blurred(guess, blur), 1e-3)), blur)
    return guess


def levelled(lines: Rows) -> Rows:
    """Each line from 0 to 255 between the dark and the light round every place of it."""
    reach = int(NEAR * lines.shape[1]) | 1
    ground = np.ones((1, reach), np.uint8)
    soft = gaussian(reach / 4)
    dark = _blurred(_rows(cv2.erode(lines, ground)), soft)
    light = _blurred(_rows(cv2.dilate(lines, ground)), soft)
    return _rows(np.clip((lines - dark) / np.maximum(light - dark, 1) * 255, 0, 255))


def _blurred(lines: Rows, blur: Rows) -> Rows:
    return _rows(cv2.filter2D(lines, cv2.CV_32F, blur, borderType=cv2.BORDER_REPLICATE))


def _contrast(rows: Rows, lean: NDArray[np.float64]) -> float:
    """How sharp the mean of the rows is once they are leant: most where bars meet bars."""
    return float(np.square(np.diff(_leant(rows, lean).mean(axis=0))).sum())


def _leant(rows: Rows, lean: NDArray[np.float64]) -> Rows:
    height, width = rows.shape
    x = np.arange(width, dtype=np.float32)[None]
    y = np.arange(height, dtype=np.float32)[:, None]
    high = (y - (height - 1) / 2) / max(height - 1, 1)
    there = x + high * (lean[0] + lean[1] * (x / width - 0.5))
    moved = cv2.remap(
        rows,
        there.astype(np.float32),
        np.broadcast_to(y, rows.shape).copy(),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return _rows(moved)


def _rows(array: NDArray[Any] | cv2.typing.MatLike) -> Rows:
    return np.asarray(array, np.float32)
