"""A picture of a damaged case, drawn from the seed: what somebody would photograph."""

from __future__ import annotations

import random

import cv2
import numpy as np

WIDTH, HEIGHT = 960, 720  # px


def picture(rng: random.Random) -> bytes:
    """Return a JPEG of a grey case with a crack from its edge."""
    noise = np.random.default_rng(rng.getrandbits(64)).normal(0, 6, (HEIGHT, WIDTH, 3))
    scene = np.full((HEIGHT, WIDTH, 3), 118, np.float64)
    case = np.full((HEIGHT - 160, WIDTH - 200, 3), 205, np.float64)
    scene[80 : HEIGHT - 80, 100 : WIDTH - 100] = case
    image = np.clip(scene + noise, 0, 255).astype(np.uint8)
    x, y = WIDTH - 100, rng.randint(180, 320)
    while x > WIDTH // 2:
        further = (x - rng.randint(14, 40), y + rng.randint(-26, 34))
        cv2.line(image, (x, y), further, (38, 34, 34), rng.randint(2, 5))
        x, y = further
    _, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 80])
    return data.tobytes()
