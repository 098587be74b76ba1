"""Means of a line code along its bars, set upright first: a bar is the same from end to end.

Such a mean has far less noise than any line through the bars: little enough to undo a blur that is
wider than the bars, which in a whole picture would only raise the noise.
"""

from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures.preparing import Grey

Rows = NDArray[np.float32]

ENDS: Final = 0.12
"""Of the bars' length, left out at each end: print below, the corners of a tilted label."""
EDGED: Final = 0.5  # of the most edged row, that a row of the bars has
LEAST_ROWS: Final = 4  # px; a lower strip has nothing to average
LEAST_LEAN: Final = 0.3  # px
STEPS: Final = 60  # most codes need ten: a bound for pictures that are none
FALLS: Final = tuple(sorted(np.arange(-0.16, 0.17, 0.02).tolist(), key=abs))
"""px to a px; level first, for a picture that tells nothing."""
BANDS: Final = 4  # of the bars' length, in each of which glare hardly changes
STUDIED: Final = 24  # rows that are enough to see how the bars lean


@dataclass(frozen=True, slots=True, eq=False)
class Across:
    """Some lines across upright bars."""

    lines: Rows  # one below the other, grey levels, px by px
    top: int  # px, the rows where the bars stand, in the picture's middle
    bottom: int
    falls: float  # px that these rows fall for each px to the right


def across(upright: Grey) -> Across | None:
    """Means along the bars that run from top to bottom; None where they are too short."""
    soft = cv2.GaussianBlur(upright, (0, 0), 1.0)
    edges = _rows(np.abs(cv2.Sobel(soft, cv2.CV_32F, 1, 0)))
    falls = _falls(edges)
    told = _level(edges, falls).mean(axis=1, keepdims=True)
    rows = cv2.GaussianBlur(_rows(told), (0, 0), 2.0)[:, 0]
    apart = np.flatnonzero(rows <= EDGED * rows.max())
    most = int(rows.argmax())
    top = int(max((row + 1 for row in apart if row < most), default=0))
    bottom = int(min((row for row in apart if row > most), default=len(rows)))
    cut = int(ENDS * (bottom - top))
    inner = _level(upright, falls)[top + cut : bottom - cut]
    if len(inner) < LEAST_ROWS:
        return None
    bands = np.array_split(straightened(inner), min(BANDS, len(inner)))
    return Across(_rows(np.stack([band.mean(axis=0) for band in bands])), top, bottom, falls)


def _falls(edges: Rows) -> float:
    """How much the rows of the bars fall to the right: seen aslant, bars set upright may climb."""
    soft = cv2.blur(edges, (STUDIED, 3))[:, STUDIED // 2 :: STUDIED]
    x = STUDIED * (np.arange(soft.shape[1]) - (soft.shape[1] - 1) / 2)

    def told(falls: float) -> float:
        rows = [np.roll(strip, -round(falls * at)) for strip, at in zip(soft.T, x, strict=True)]
        return float(np.square(np.mean(rows, axis=0)).sum())

    return float(max(FALLS, key=told))


def _level(rows: NDArray[Any], falls: float) -> Rows:
    """The rows with what falls to the right set level, about the picture's middle."""
    there = np.array([[1, 0, 0], [falls, 1, -falls * (rows.shape[1] - 1) / 2]])
    how, size = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, (rows.shape[1], rows.shape[0])
    level = cv2.warpAffine(
        rows.astype(np.float32), there, size, flags=how, borderMode=cv2.BORDER_REPLICATE
    )
    return _rows(level)


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
