"""Blur is divided out of a place, and bars are turned upright."""

from collections import Counter

import cv2
import numpy as np
import pytest

from inventory.pictures import decoders
from inventory.pictures.preparing import raw
from inventory.pictures.restoring import HELD, LINES, SQUARES, closer, restored
from tests.pictures import walls


def blurred(
    kind: str, text: str, module: float, sigma: float, noise: float = 3, seed: int = 4
) -> np.ndarray:
    """A label on carton through a soft lens, with a little noise (grey levels, sigma)."""
    label = walls.drawn(kind, text, module)
    scene = np.pad(label, 30, constant_values=150)
    grain = np.random.default_rng(seed).normal(0, noise, scene.shape)
    return np.clip(cv2.GaussianBlur(scene, (0, 0), sigma) + grain, 0, 255).astype(np.uint8)


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


@pytest.mark.parametrize("seed", [0, 1])
def test_print_held_between_dark_and_light_comes_out_of_the_noise(seed) -> None:
    """Modules of 3.1 px under a blur of 2.1 px: divided out once in no way, held in every one."""
    place = blurred("datamatrix", "A1B2C3D4E5F6", 2.4, 2.1, noise=10, seed=seed)
    close = closer(place)
    once = [
        hit for way in SQUARES if not way.rounds for hit in decoders.zxing(restored(close, way))
    ]
    held = {way.name: decoders.zxing(restored(close, way)) for way in HELD}

    assert once == []
    for hits in held.values():
        assert {hit.text for hit in hits} == {"A1B2C3D4E5F6"}
        x, y, wide, high = hits[0].box
        middle = (place.shape[1] / 2, place.shape[0] / 2)
        assert pytest.approx((x + wide / 2, y + high / 2), abs=5) == middle
    large = closer(np.tile(place, (2, 2)))
    assert restored(large, HELD[0]).pixels.shape == large.pixels.shape  # it would take too long


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
