"""Where line codes lie in a picture and which way their bars run, and each of them set upright.

A line code is the one thing on a label whose edges all run the same way: the structure tensor says
so without reading anything. Decoders follow a line across the bars only within some 17 degrees
(measured), so a code is turned by its own angle instead of by a few blind ones.
Source of the tensor: J. Bigun, G. H. Granlund, Optimal orientation detection of linear symmetry,
First International Conference on Computer Vision, 1987.
"""

from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures.preparing import Grey, Prepared

SIDE: Final = 400
"""px; the picture is looked at this small: bars melt into one another, text does not."""
POOL: Final = 4
"""px; edges are told one way for so many px at once."""
WINDOW: Final = 40
"""The tensor is averaged over this part of the longer side: some bars of a code, not one."""
SAME_WAY: Final = np.radians(12)
"""Edges that differ less belong to one code: a tilted label fans out its bars."""
FAINTEST: Final = 0.15
"""Of the strongest place; what is weaker is text or the edge of a carton."""
WITHIN: Final = 0.3
"""Of a place's own peak: where the code ends."""
LEAST: Final = 4.0
"""Grey levels squared; weaker edges are noise."""
QUIET: Final = 0.12
"""Of a code's length, kept at each end: a decoder wants the quiet zone too."""

Floats = NDArray[np.floating[Any]]

LARGER: Final = 2
MOST: Final = 2_400
"""px, the longer side of an enlarged code: one that fills a large photo needs no enlarging."""
ALONG: Final = 8.3  # px of the picture: a mean along the bars takes off noise and no edge


@dataclass(frozen=True, slots=True)
class Bars:
    """A place where bars stand side by side, in px of the picture."""

    turn: float  # radians, from the picture's x axis to the line across the bars
    begin: float  # px along that line, from the picture's corner; the quiet zone is outside
    end: float
    top: float  # px along the bars
    bottom: float
    blur: float  # px; begin and end are unsure by so much


def uprights(grey: Grey) -> list[Prepared]:
    """Each place set upright, averaged along its bars, edges put back, contrast evened out."""
    return [_clear(upright(grey, place, LARGER), 2.0) for place in find(grey)]


def uprights_large(grey: Grey) -> list[Prepared]:
    """The same twice as large again: bars of one px."""
    return [_clear(upright(grey, place, 2 * LARGER), 3.0) for place in find(grey)]


def find(grey: Grey, most: int = 2) -> list[Bars]:
    """The places that look most like line codes, the clearest first. At most so many."""
    factor = min(1.0, SIDE / max(grey.shape))
    small = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    window = max(small.shape) / WINDOW
    energy, along, angle = _tensor(small, window / POOL)
    # Of edges that run every way (text, texture) nearly nothing is left.
    score = along * along / np.maximum(energy, 1e-3)
    left, strongest = score.copy(), 0.0
    found: list[Bars] = []
    while len(found) < most:
        _, peak, _, (x, y) = cv2.minMaxLoc(left)
        strongest = strongest or peak
        if peak < max(LEAST, FAINTEST * strongest):
            break
        apart = np.abs(np.mod(angle - angle[y, x] + np.pi / 2, np.pi) - np.pi / 2)
        piece = ((score > WITHIN * peak) & (apart < SAME_WAY)).astype(np.uint8)
        _, pieces = cv2.connectedComponents(piece)
        inside = pieces == pieces[y, x]
        found.append(_measured(inside, score, angle, factor / POOL, window / POOL))
        left[cv2.dilate(inside.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0] = 0
    return found


def upright(grey: Grey, bars: Bars, scale: float = 1.0) -> Prepared:
    """The code alone, its bars from top to bottom, so many times larger, up to MOST."""
    across = np.array([np.cos(bars.turn), np.sin(bars.turn)])
    down = np.array([-across[1], across[0]])
    edge = QUIET * (bars.end - bars.begin) + bars.blur
    scale = min(scale, MOST / max(bars.end - bars.begin + 2 * edge, bars.bottom - bars.top))
    corner = across * (bars.begin - edge) + down * bars.top
    size = (
        max(1, int((bars.end - bars.begin + 2 * edge) * scale)),
        max(1, int((bars.bottom - bars.top) * scale)),
    )
    back = np.column_stack([across / scale, down / scale, corner])
    how = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    pixels = cv2.warpAffine(grey, back, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
    return Prepared(pixels.astype(np.uint8, copy=False), back)


def _clear(view: Prepared, strength: float) -> Prepared:
    along = max(1, round(ALONG / float(np.hypot(*view.back[:, 0]))))
    mean = cv2.blur(view.pixels, (1, along))
    soft = cv2.GaussianBlur(mean, (0, 0), 2.0)
    sharp = cv2.addWeighted(mean, 1 + strength, soft, -strength, 0)
    # Tiles as in preparing.clahe, fewer of them: a code alone is smaller than a picture.
    even = cv2.createCLAHE(3.0, (4, 4)).apply(sharp)
    return Prepared(even.astype(np.uint8, copy=False), view.back)


def _tensor(small: cv2.typing.MatLike, window: float) -> tuple[Floats, ...]:
    """Edge strength, how much of it runs one way, and which way (radians), px by px."""
    x = cv2.Scharr(small, cv2.CV_32F, 1, 0) / 32
    y = cv2.Scharr(small, cv2.CV_32F, 0, 1) / 32
    size = tuple(max(1, side // POOL) for side in reversed(small.shape))
    pooled = (
        cv2.resize(part, size, interpolation=cv2.INTER_AREA) for part in (x * x, y * y, x * y)
    )
    xx, yy, xy = (np.asarray(cv2.GaussianBlur(part, (0, 0), window)) for part in pooled)
    return xx + yy, np.hypot(xx - yy, 2 * xy), np.arctan2(2 * xy, xx - yy) / 2


def _measured(
    inside: NDArray[np.bool_],
    score: Floats,
    angle: Floats,
    factor: float,
    window: float,
) -> Bars:
    """The box round the px that are inside, along the way their edges run."""
    rows, columns = np.nonzero(inside)
    turn = float(np.angle((score[inside] * np.exp(2j * angle[inside])).sum()) / 2)
    x, y = columns + 0.5, rows + 0.5
    across = x * np.cos(turn) + y * np.sin(turn)
    down = y * np.cos(turn) - x * np.sin(turn)
    ends = (float(across.min()), float(across.max()), float(down.min()), float(down.max()))
    begin, end, top, bottom = (place / factor for place in ends)
    return Bars(turn, begin, end, top, bottom, window / factor)
