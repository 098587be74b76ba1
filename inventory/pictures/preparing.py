"""What OpenCV does to a grey picture before a decoder sees it. OpenCV itself decodes nothing.

Which steps help was measured over 1,007 photos: CLAHE most and with the fewest wrong reads, then
doubling; median, strong blur and adaptive threshold lose more than they gain, and are not here.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]

GRAIN = 0.03  # noise against signal, in power: less brings out more of both
REACH = 16  # px, how far one place of a picture bears on another there


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A prepared picture and the way back to the picture it came from."""

    pixels: Grey
    back: NDArray[np.float64]  # 2 x 3, prepared px -> original px
    one: bool = False  # all of it shows one code: whatever is read lies all over it


def _flat(factor: float = 1.0) -> NDArray[np.float64]:
    return np.array([[factor, 0.0, 0.0], [0.0, factor, 0.0]])


def _grey(pixels: cv2.typing.MatLike) -> Grey:
    return pixels.astype(np.uint8, copy=False)


def raw(grey: Grey) -> Prepared:
    """The picture as it is."""
    return Prepared(grey, _flat())


def clahe(grey: Grey) -> Prepared:
    """Contrast evened out by 8 x 8 tiles: shadow over half a label, glare."""
    return Prepared(_grey(cv2.createCLAHE(3.0, (8, 8)).apply(grey)), _flat())


def doubled(grey: Grey) -> Prepared:
    """Twice as large: modules under two px."""
    bigger = cv2.resize(grey, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    return Prepared(_grey(bigger), _flat(0.5))


def smoothed(grey: Grey) -> Prepared:
    """Sensor noise taken off; pyzbar needs it on wide line codes."""
    return Prepared(_grey(cv2.GaussianBlur(grey, (0, 0), 0.8)), _flat())


def sharpened(grey: Grey) -> Prepared:
    """Noise taken off, then edges put back: a hand that shook."""
    soft = cv2.GaussianBlur(grey, (0, 0), 0.8)
    wide = cv2.GaussianBlur(soft, (0, 0), 2.0)
    return Prepared(_grey(cv2.addWeighted(soft, 2.5, wide, -1.5, 0)), _flat())


def refocused(grey: Grey, blur: float = 1.2) -> Prepared:
    """Blur of so many px (sigma) taken back as far as noise allows, twice as large.

    Source: N. Wiener, Extrapolation, Interpolation, and Smoothing of Stationary Time Series, 1949.
    """
    height, width = grey.shape
    tall, wide = cv2.getOptimalDFTSize(height + REACH), cv2.getOptimalDFTSize(width + REACH)
    # Plain ground below and to the right, because the transform joins opposite sides.
    edges = (0, tall - height, 0, wide - width)
    ground = cv2.copyMakeBorder(grey, *edges, cv2.BORDER_REPLICATE)
    down, across = np.fft.fftfreq(tall)[:, None], np.fft.rfftfreq(wide)[None]
    lens = np.exp(-2 * (np.pi * blur) ** 2 * (down**2 + across**2)).astype(np.float32)
    seen = np.fft.rfft2(ground.astype(np.float32))
    sharp = np.fft.irfft2(seen * lens / (lens * lens + GRAIN), (tall, wide))[:height, :width]
    return doubled(np.clip(sharp, 0, 255).astype(np.uint8))


def refocused_far(grey: Grey) -> Prepared:
    """The same for a lens far out of focus."""
    return refocused(grey, 2.0)


def turned(grey: Grey, degrees: float) -> Prepared:
    """Turned about its middle on a white ground large enough: line codes read within 17 degrees."""
    height, width = grey.shape
    there = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    cos, sin = abs(there[0, 0]), abs(there[0, 1])
    size = (int(height * sin + width * cos) + 1, int(height * cos + width * sin) + 1)
    there[:, 2] += (size[0] - width) / 2, (size[1] - height) / 2
    pixels = cv2.warpAffine(grey, there, size, flags=cv2.INTER_LINEAR, borderValue=(255,))
    return Prepared(_grey(pixels), np.asarray(cv2.invertAffineTransform(there), np.float64))


def shrunk(grey: Grey, most: int) -> Prepared:
    """The picture made no larger than so many px in all."""
    height, width = grey.shape
    factor = (most / (width * height)) ** 0.5
    if factor >= 1:
        return raw(grey)
    size = (max(1, int(width * factor)), max(1, int(height * factor)))
    smaller = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    return Prepared(_grey(smaller), _flat(1 / factor))
