"""Walls of labels as a phone would see them: shelves and pallets, made from a seed.

A third each of the labels are Code 128, QR and Data Matrix, each with a text of its own, drawn by
the product's own symbols. Sizes, blur, noise, glare and JPEG quality are those of the published
measurement in pictures.md section 4 (12, 30, 60 labels on 12 million px, three difficulties), so
that the figures can be set beside it. Not photographs: what a lens does at its edge is not in them.
"""

import random
from dataclasses import dataclass
from functools import lru_cache
from itertools import cycle
from math import cos, radians, sin

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.labels import linear, matrix
from inventory.labels.label import Label

Pixels = NDArray[np.float32]

SIZE = (4000, 3000)  # px, width and height
GRIDS = {12: (4, 3), 30: (6, 5), 60: (10, 6)}  # labels -> columns, rows
MODULE = {12: 6.0, 30: 4.0, 60: 2.4}  # px of a line code's narrowest bar at 4000 px of width
SQUARE = 1.3  # a square code's module in line modules
BAR = 34  # line modules: the height of the bars
CARTON = 150.0  # grey of what the labels stick on
UPRIGHT = 0.08  # of the labels are turned by 90 degrees
TILT = 6.0  # degrees, most


@dataclass(frozen=True, slots=True)
class Level:
    """How badly a wall is seen."""

    blur: float  # px, sigma
    noise: float  # grey levels, sigma
    quality: int  # JPEG
    glare: float  # share of labels with a glaring spot
    bright: float  # grey levels, at most, that glare adds to the print
    perspective: float  # of the picture's width: how far the corners come in
    motion: int  # px the hand moved, 0 for none


LEVELS = {
    "easy": Level(0.6, 3.0, 92, 0.0, 0.0, 0.02, 0),
    "mid": Level(1.0, 6.0, 85, 0.20, 170.0, 0.10, 0),
    "hard": Level(1.4, 10.0, 75, 0.35, 210.0, 0.16, 3),
}


@dataclass(frozen=True, slots=True)
class Wall:
    """A picture and what stands on it."""

    jpeg: bytes
    texts: tuple[str, ...]  # of the labels, row by row; no two alike unless asked for
    boxes: tuple[tuple[int, int, int, int], ...]  # x, y, width, height in px, label by label
    symbologies: tuple[str, ...]


@lru_cache(maxsize=4)
def wall(
    labels: int,
    level: str,
    seed: int,
    *,
    size: tuple[int, int] = SIZE,
    texts: tuple[str, ...] | None = None,
) -> Wall:
    """A wall of 12, 30 or 60 labels; the same arguments give the same bytes.

    texts: other texts than the made-up ones, one for each label or fewer (then fewer labels).
    """
    rng = random.Random(f"{labels} {level} {seed} {size}")
    how, module = LEVELS[level], MODULE[labels] * size[0] / SIZE[0]
    columns, rows = GRIDS[labels]
    kinds = [kind for kind, _ in zip(cycle(("line", "qr", "datamatrix")), range(labels))]
    rng.shuffle(kinds)
    carried = texts or tuple(_text(kind, rng) for kind in kinds)
    scene = _carton(size, rng)
    quads = []
    for place, (kind, text) in enumerate(zip(kinds, carried, strict=False)):
        row, column = divmod(place, columns)
        cell = (size[0] / columns, size[1] / rows)
        middle = ((column + 0.5) * cell[0], (row + 0.5) * cell[1])
        quads.append(_stick(scene, drawn(kind, text, module), middle, cell, rng, how))
    turned, tilt = _seen(scene, how, rng)
    boxes = tuple(_box(quad, tilt) for quad in quads)
    return Wall(_taken(turned, how, rng), carried, boxes, tuple(kinds[: len(carried)]))


def _text(kind: str, rng: random.Random) -> str:
    if kind == "line":
        return f"SN{rng.randrange(10**10):010}"
    letters = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"
    made = "".join(rng.choice(letters) for _ in range(12))
    return made if kind == "datamatrix" else f"https://x.example/{made[:8]}"


def drawn(kind: str, text: str, module: float) -> Pixels:
    """A white label with its symbol and quiet zone, grey px, drawn four times finer than needed."""
    label = Label("unit", "wall", code=text, matrix="qr" if kind == "qr" else "datamatrix")
    if kind == "line":
        row = np.array([[cell == "1" for cell in linear.modules(label)]])
        dark = np.repeat(row, BAR, axis=0)
        edge, one = linear.QUIET, module
    else:
        dark = np.array([[cell == "1" for cell in row] for row in matrix.modules(label)])
        edge, one = matrix.QUIET[label.matrix] + 1, module * SQUARE
    flat = np.where(np.pad(dark, edge), 25.0, 245.0).astype(np.float32)
    wanted = (round(flat.shape[1] * one), round(flat.shape[0] * one))
    fine = np.kron(flat, np.ones((8, 8), np.float32))
    return cv2.resize(fine, wanted, interpolation=cv2.INTER_AREA).astype(np.float32)


def _carton(size: tuple[int, int], rng: random.Random) -> Pixels:
    """Brown board: coarse clouds, fine fibres and the flutes' faint lines."""
    grain = np.random.default_rng(rng.getrandbits(64))
    width, height = size
    clouds = grain.normal(0, 14, (height // 100 + 2, width // 100 + 2)).astype(np.float32)
    ground = cv2.resize(clouds, size, interpolation=cv2.INTER_CUBIC) + CARTON
    ground += cv2.GaussianBlur(grain.normal(0, 9, (height, width)).astype(np.float32), (0, 0), 1.2)
    ground += 3 * np.sin(np.arange(height, dtype=np.float32) / 3.1)[:, None]
    return np.asarray(ground, np.float32)


def _stick(
    scene: Pixels,
    label: Pixels,
    middle: tuple[float, float],
    cell: tuple[float, float],
    rng: random.Random,
    how: Level,
) -> NDArray[np.float64]:
    """Stick one label on, tilted, sometimes upright and with glare; its corners in px."""
    height, width = label.shape
    angle = rng.uniform(-TILT, TILT) + (90 if rng.random() < UPRIGHT else 0)
    turn = np.array(
        [[cos(radians(angle)), -sin(radians(angle))], [sin(radians(angle)), cos(radians(angle))]]
    )
    corners = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
    spread = np.abs(corners @ turn.T).max(axis=0)
    room = np.maximum(0, np.array(cell) / 2 - spread) * 0.6
    shift = np.array([rng.uniform(-1, 1), rng.uniform(-1, 1)]) * room
    quad = corners @ turn.T + np.array(middle) + shift
    printed = 128 + (label - 128) * rng.uniform(0.75, 1.0)
    if rng.random() < how.glare:
        printed = _glare(printed, how.bright, rng)
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    there = cv2.getPerspectiveTransform(flat, quad.astype(np.float32))
    x, y = np.floor(quad.min(axis=0)).astype(int) - 2
    right, bottom = np.ceil(quad.max(axis=0)).astype(int) + 3
    x, y = max(x, 0), max(y, 0)
    right, bottom = min(right, scene.shape[1]), min(bottom, scene.shape[0])
    moved = np.array([[1, 0, -x], [0, 1, -y], [0, 0, 1.0]]) @ there
    patch = (int(right - x), int(bottom - y))
    seen = cv2.warpPerspective(printed.astype(np.float32), moved, patch, flags=cv2.INTER_LINEAR)
    cover = cv2.warpPerspective(np.ones_like(label), moved, patch, flags=cv2.INTER_LINEAR)
    under = scene[y:bottom, x:right]
    scene[y:bottom, x:right] = under * (1 - cover) + seen * cover
    return quad


def _glare(label: Pixels, bright: float, rng: random.Random) -> Pixels:
    """A bright spot that washes out part of the print."""
    height, width = label.shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    middle_x, middle_y = rng.uniform(0.1, 0.9) * width, rng.uniform(0.1, 0.9) * height
    wide = rng.uniform(0.10, 0.22) * min(width, 3 * height)
    spot = np.exp(-((x - middle_x) ** 2 + (y - middle_y) ** 2) / (2 * wide**2))
    return np.minimum(255, label + spot * rng.uniform(0.5, 1.0) * bright).astype(np.float32)


def _seen(scene: Pixels, how: Level, rng: random.Random) -> tuple[Pixels, NDArray[np.float64]]:
    """The wall seen aslant in light that falls off; and the way from the wall to the picture."""
    height, width = scene.shape
    off = how.perspective * min(width, height)
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    inward = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]])
    shifts = np.array([[rng.uniform(0, 0.5) * off, rng.uniform(0, 0.5) * off] for _ in range(4)])
    there = flat + (inward * shifts).astype(np.float32)
    tilt = cv2.getPerspectiveTransform(flat, there.astype(np.float32))
    seen = cv2.warpPerspective(
        scene, tilt, (width, height), flags=cv2.INTER_CUBIC, borderValue=(CARTON,)
    )
    slope, dark = rng.uniform(0, 2 * np.pi), rng.uniform(0.55, 0.85)
    x, y = np.meshgrid(
        np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height, dtype=np.float32)
    )
    across = (x * cos(slope) + y * sin(slope)) / 2**0.5
    return seen * (1 - (1 - dark) * (across + 1) / 2), tilt


def _taken(scene: Pixels, how: Level, rng: random.Random) -> bytes:
    """Lens, hand, sensor and file."""
    seen = cv2.GaussianBlur(scene, (0, 0), how.blur)
    if how.motion:
        seen = cv2.filter2D(seen, -1, _motion(how.motion, rng.uniform(0, np.pi)))
    grain = np.random.default_rng(rng.getrandbits(64))
    seen = seen + grain.normal(0, how.noise, seen.shape).astype(np.float32)
    grey = np.clip(seen, 0, 255).astype(np.uint8)
    _, file = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, how.quality])
    return file.tobytes()


def _motion(length: int, way: float) -> Pixels:
    """A short line of light, drawn ten times finer than the px it falls on."""
    side, fine = length + 2, 10
    line = np.zeros((side * fine, side * fine), np.float32)
    middle, half = side * fine / 2, length * fine / 2
    start = (round(middle - half * cos(way)), round(middle - half * sin(way)))
    end = (round(middle + half * cos(way)), round(middle + half * sin(way)))
    cv2.line(line, start, end, 1.0, fine)
    kernel = cv2.resize(line, (side, side), interpolation=cv2.INTER_AREA)
    return np.asarray(kernel / kernel.sum(), np.float32)


def _box(quad: NDArray[np.float64], tilt: NDArray[np.float64]) -> tuple[int, int, int, int]:
    there = cv2.perspectiveTransform(quad[None].astype(np.float32), tilt)[0]
    left, top = np.floor(there.min(axis=0)).astype(int).tolist()
    right, bottom = np.ceil(there.max(axis=0)).astype(int).tolist()
    return left, top, right - left, bottom - top
