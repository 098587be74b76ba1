"""A label as a phone would see it, for the demo and the tests: what real photos do to print.

Not a photo: it has no glare, dust or motion, and so most lie near the hard end of the bounds, which
are those of the demo's task: some labels must be typed. Within them every picture is made from the
given random numbers alone, so a seed gives the same bytes again.
"""

import random
from dataclasses import dataclass
from math import cos, radians, sin

import cv2
import numpy as np
from numpy.typing import NDArray

SHIFT = (0.03, 0.10)  # of the label's width: how far each corner is off (a tilted phone)
TURN = (-12.0, 12.0)  # degrees
BLUR = (0.8, 1.4)  # px, sigma
NOISE = (6.0, 12.0)  # grey levels out of 255, sigma
QUALITY = (60, 80)  # JPEG
MODULE = (2.0, 4.0)  # px of the photo for the narrowest module
LIGHT = (0.35, 0.8)  # of full light at the darkest edge
CARTON = 150.0  # grey of what the label sticks on


@dataclass(frozen=True, slots=True)
class Shot:
    """How one picture is taken."""

    module: float  # px of the photo per narrowest module
    turn: float  # degrees
    shifts: tuple[tuple[float, float], ...]  # of the label's width, per corner from top left
    blur: float  # px, sigma
    noise: float  # grey levels, sigma
    quality: int  # JPEG
    dark: float  # share of the light left at the darker edge
    slope: float  # radians, where the light comes from


def shot(rng: random.Random) -> Shot:
    """A shot within the bounds above."""

    def mostly(hard: float, easy: float, how: int = 6) -> float:
        return hard + (easy - hard) * rng.random() ** how

    def shift() -> tuple[float, float]:
        far, way = mostly(SHIFT[1], SHIFT[0], 3), rng.uniform(0, 2 * np.pi)
        return far * cos(way), far * sin(way)

    return Shot(
        # A hand holds the phone far off more often than near: the label must be whole.
        module=mostly(*MODULE),
        turn=rng.uniform(*TURN),
        shifts=(shift(), shift(), shift(), shift()),
        blur=mostly(BLUR[1], BLUR[0]),
        noise=mostly(NOISE[1], NOISE[0]),
        quality=rng.randint(*QUALITY),
        dark=mostly(*LIGHT, 3),
        slope=rng.uniform(0, 2 * np.pi),
    )


def photo_of(label_png: bytes, rng: random.Random, dots: int = 2) -> bytes:
    """A JPEG like a photo of the label. dots: px of the PNG for its narrowest module (>= 1)."""
    label = cv2.imdecode(np.frombuffer(label_png, np.uint8), cv2.IMREAD_GRAYSCALE)
    if label is None:
        raise ValueError("expected a picture of a label, got something else")
    return taken(label.astype(np.float32), shot(rng), rng, dots)


def taken(label: NDArray[np.float32], how: Shot, rng: random.Random, dots: int) -> bytes:
    """The label (grey, rows first) seen through one shot."""
    scene = _placed(label, how, how.module / dots)
    blurred = cv2.GaussianBlur(scene * _light(scene.shape, how), (0, 0), how.blur)
    grain = np.random.default_rng(rng.getrandbits(64)).normal(0, how.noise, scene.shape)
    grey = np.clip(blurred + grain, 0, 255).astype(np.uint8)
    _, file = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, how.quality])
    return file.tobytes()


def _placed(label: NDArray[np.float32], how: Shot, scale: float) -> NDArray[np.float32]:
    """The label turned, tilted and scaled on a carton that shows round it."""
    height, width = label.shape
    angle = radians(how.turn)
    corners = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
    turn = np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])
    there = (corners @ turn.T + np.array(how.shifts) * width) * scale
    edge = 0.06 * width * scale
    there += edge - there.min(axis=0)
    size = np.ceil(there.max(axis=0) + edge).astype(int).tolist()
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    tilt = cv2.getPerspectiveTransform(flat, there.astype(np.float32))
    # Shrinking a bar picture without averaging would add stripes that no lens makes.
    seen = cv2.warpPerspective(
        label, tilt, tuple(size), flags=cv2.INTER_AREA, borderValue=(CARTON,)
    )
    return seen.astype(np.float32)


def _light(shape: tuple[int, ...], how: Shot) -> NDArray[np.float32]:
    """Light falling off across the picture, 1 at the bright edge."""
    height, width = shape[:2]
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    across = (x * cos(how.slope) + y * sin(how.slope)) / 2**0.5
    return (1 - (1 - how.dark) * (across + 1) / 2).astype(np.float32)
