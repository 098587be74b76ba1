"""Blur is divided out of a place, and bars are turned upright."""

from collections import Counter

import cv2
import numpy as np
import pytest

from inventory.pictures import decoders
from inventory.pictures.preparing import raw
from inventory.pictures.restoring import LINES, SQUARES, closer, restored
from tests.pictures import walls


def blurred(kind: str, text: str, module: float, sigma: float) -> np.ndarray:
    """A label on carton through a soft lens, with a little noise."""
    label = walls.drawn(kind, text, module)
    scene = np.pad(label, 30, constant_values=150)
    noise = np.random.default_rng(4).normal(0, 3, scene.shape)
    return np.clip(cv2.GaussianBlur(scene, (0, 0), sigma) + noise, 0, 255).astype(np.uint8)


@pytest.mark.parametrize(
    ("kind", "text", "sigma"),
    [("line", "SN0123456789", 1.7), ("qr", "https://x.example/A1B2C3D4", 1.9)],
)
def test_a_blur_of_most_of_a_module_is_taken_back(kind, text, sigma) -> None:
    """Modules of 2.4 and 3.1 px: zxing-cpp reads none of it as it is, most ways make it read."""
    place = blurred(kind, text, 2.4, sigma)
    close = closer(place)
    ways = LINES if kind == "line" else SQUARES
    texts = Counter(hit.text for way in ways for hit in decoders.zxing(restored(close, way)))

    assert decoders.zxing(raw(place)) == []
    assert (kind == "line") == close.lined
    assert texts.most_common(1)[0][0] == text


def test_a_turned_code_keeps_its_place() -> None:
    """The box comes back to where the code lies in the picture."""
    label = walls.drawn("line", "SN0123456789", 3.0)
    height, width = label.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), -40, 1)
    turn[:, 2] += (350 - width / 2, 300 - height / 2)
    place = cv2.warpAffine(label, turn, (700, 600), borderValue=(150,)).astype(np.uint8)
    [hit] = decoders.zxing(restored(closer(place), LINES[0]))

    x, y, wide, high = hit.box
    assert pytest.approx((x + wide / 2, y + high / 2), abs=15) == (350, 300)
