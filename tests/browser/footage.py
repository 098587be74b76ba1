"""A film of our printed labels for chromium's fake camera: held in a hand, moving, not quite sharp.

Each label is drawn as the printer draws it (203 dots an inch), then moved, turned and tilted by up
to TILT degrees about all three axes, blurred and covered with noise, frame by frame. A film is
MJPEG: one JPEG behind the other, 30 a second, begun again at its end.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

from inventory.labels.drawing import Bar, draw
from inventory.labels.label import Label
from inventory.labels.png import picture

WIDTH, HEIGHT, RATE = 1280, 720, 30  # px, px, frames a second (chromium's own for MJPEG)
ZOOM = 1.8  # px a printer dot
TILT = 8.0  # degrees, largest
BLUR = 1.2  # px, sigma
NOISE = 7.0  # grey levels of 255, sigma
SWAY = 40  # px the hand moves to each side
FAR = 1400.0  # px from the eye to the label, for the perspective
TALL = 30  # dots: what is taller is a bar of the line code, no module of the square one
TAG = 48  # px: the square in the lower left corner, white while a label is in view, else black
Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Shot:
    """Some seconds of one label, or of the shelf behind it."""

    seconds: float
    label: Label | None = None
    thumb: str = ""  # which of its codes lies under the thumb: "lines", "square" or none


def film(file: Path, shots: Sequence[Shot]) -> Path:
    """Write the shots one behind the other, and return the file."""
    dice = np.random.default_rng(5)
    # A piece of it at random for each frame: no two frames bear the same noise.
    noise = dice.normal(0, NOISE, (2 * HEIGHT, 2 * WIDTH)).astype(np.int16)
    with file.open("wb") as out:
        for shot in shots:
            for still in _stills(shot):
                y, x = dice.integers(0, HEIGHT), dice.integers(0, WIDTH)
                grainy = still + noise[y : y + HEIGHT, x : x + WIDTH]
                frame = np.clip(grainy, 0, 255).astype(np.uint8)
                frame[-TAG:, :TAG] = 255 if shot.label else 0
                out.write(cv2.imencode(".jpg", frame, [cv2.IMWRITE_JPEG_QUALITY, 92])[1])
    return file


def codes_of(shot: Shot) -> set[str]:
    """What kinds of code the thumb leaves to be read, by zxing-cpp on the still label."""
    paper, _ = _held(shot.label, shot.thumb) if shot.label else (_shelf(), (0, 0))
    return {str(one.format) for one in zxingcpp.read_barcodes(paper)}


def _stills(shot: Shot) -> Iterator[NDArray[np.int16]]:
    """The frames of a shot, blurred, before the noise."""
    shelf = _shelf()
    paper, middle = _held(shot.label, shot.thumb) if shot.label else (shelf[:1, :1], (0.0, 0.0))
    count = round(shot.seconds * RATE)
    for n in range(count):
        frame = np.roll(shelf, 2 * n, axis=1)
        if shot.label:
            way = _way(middle, 2 * pi * n / count)
            cv2.warpPerspective(
                paper, way, (WIDTH, HEIGHT), frame, cv2.INTER_AREA, cv2.BORDER_TRANSPARENT
            )
        yield cv2.GaussianBlur(frame, (0, 0), BLUR).astype(np.int16)


def _held(label: Label, thumb: str) -> tuple[Grey, tuple[float, float]]:
    """The label with one code under the thumb, and the middle of the code aimed at, in dots."""
    drawing = draw(label)
    paper = np.array(picture(drawing))
    boxes = {
        "lines": _around([bar for bar in drawing.bars if bar.height > TALL]),
        "square": _around([bar for bar in drawing.bars if bar.height <= TALL]),
    }
    if thumb:
        left, top, right, bottom = boxes.pop(thumb)
        paper[max(top - 8, 0) : bottom + 8, max(left - 8, 0) : right + 8] = 120
    left, top, right, bottom = next(iter(boxes.values()))
    return paper, ((left + right) / 2, (top + bottom) / 2)


def _around(bars: Sequence[Bar]) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of what the bars cover, in dots."""
    return (
        min(bar.x for bar in bars),
        min(bar.y for bar in bars),
        max(bar.x + bar.width for bar in bars),
        max(bar.y + bar.height for bar in bars),
    )


def _way(middle: tuple[float, float], turn: float) -> NDArray[np.float64]:
    """From dots of the label to px of the frame, at `turn` of the hand's round."""
    roll, pitch, yaw = (radians(TILT * wave) for wave in (sin(turn), cos(turn), -sin(2 * turn)))
    about_z = np.array([[cos(roll), -sin(roll), 0], [sin(roll), cos(roll), 0], [0, 0, 1]])
    about_x = np.array([[1, 0, 0], [0, cos(pitch), -sin(pitch)], [0, sin(pitch), cos(pitch)]])
    about_y = np.array([[cos(yaw), 0, sin(yaw)], [0, 1, 0], [-sin(yaw), 0, cos(yaw)]])
    turned: Any = about_z @ about_x @ about_y
    flat = np.array([[ZOOM, 0, -ZOOM * middle[0]], [0, ZOOM, -ZOOM * middle[1]], [0, 0, 1]])
    # A label is flat: of the turn only the first two columns matter, and where its middle is.
    place = np.column_stack(
        [turned[:, 0], turned[:, 1], (SWAY * sin(turn), SWAY * cos(2 * turn) / 2, FAR)]
    )
    eye = np.array([[FAR, 0, WIDTH / 2], [0, FAR, HEIGHT / 2], [0, 0, 1]])
    return np.asarray(eye @ place @ flat, dtype=np.float64)


def _shelf() -> Grey:
    """Cardboard with print, edges and a perforation: what a careless reader takes for codes."""
    shelf = np.full((HEIGHT, WIDTH), 150, np.uint8)
    shelf[:, ::160] = 90
    for x in range(200, 700, 9):  # stripes of one width
        shelf[80:200, x : x + 4] = 60
    shelf[520:528, ::14] = 40
    shelf[560:640, 800:1200:40] = 70
    cv2.putText(shelf, "THIS SIDE UP 4711", (180, 400), cv2.FONT_HERSHEY_SIMPLEX, 2.5, 50, 8)
    return shelf
