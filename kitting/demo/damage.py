"""Pictures of a case, whole and damaged, drawn from the seed: what somebody would photograph."""

from __future__ import annotations

import random
import zlib

import cv2
import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 960, 720  # px
Image = NDArray[np.uint8]


def picture(rng: random.Random) -> bytes:
    """Return a JPEG of a grey case with a crack from its edge."""
    image = _case(rng.getrandbits(64))
    x, y = WIDTH - 100, rng.randint(180, 320)
    while x > WIDTH // 2:
        further = (x - rng.randint(14, 40), y + rng.randint(-26, 34))
        cv2.line(image, (x, y), further, (38, 34, 34), rng.randint(2, 5))
        x, y = further
    return _jpeg(image)


def covered(of: str) -> bytes:
    """Return a JPEG of a whole case, another for each thing that it is of."""
    return _jpeg(_case(zlib.crc32(of.encode())))


def _case(seed: int) -> Image:
    noise = np.random.default_rng(seed).normal(0, 6, (HEIGHT, WIDTH, 3))
    scene = np.full((HEIGHT, WIDTH, 3), 118, np.float64)
    case = np.full((HEIGHT - 160, WIDTH - 200, 3), 205, np.float64)
    scene[80 : HEIGHT - 80, 100 : WIDTH - 100] = case
    return np.clip(scene + noise, 0, 255).astype(np.uint8)


def _jpeg(image: Image) -> bytes:
    _, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 80])
    return data.tobytes()
