"""Where the square of modules lies in a place."""

import cv2
import numpy as np
import pytest

from inventory.pictures import framing
from tests.pictures import walls

MODULE = 3.0


@pytest.mark.parametrize(("kind", "size", "edge"), [("qr", 25, 5), ("datamatrix", 16, 3)])
@pytest.mark.parametrize("turn", [-40, -7, 0, 12, 85])
def test_the_square_is_found_within_a_module(kind, size, edge, turn) -> None:
    """Of a label aslant on carton, in blur and noise; the label's own edge is not taken for it."""
    text = "https://x.example/A1B2C3D4" if kind == "qr" else "ABCDEFGH1234"
    label = walls.drawn(kind, text, MODULE / walls.SQUARE)
    assert label.shape[0] == pytest.approx((size + 2 * edge) * MODULE, abs=1)
    middle = label.shape[0] / 2
    there = cv2.getRotationMatrix2D((middle, middle), turn, 1)
    there[:, 2] += 100 - middle
    scene = cv2.GaussianBlur(
        cv2.warpAffine(label, there, (200, 200), borderValue=(150,)), (0, 0), 1.5
    )
    noise = np.random.default_rng(1).normal(0, 8, scene.shape)
    corners = next(framing.squares(np.clip(scene + noise, 0, 255).astype(np.uint8)))

    near, far = edge * MODULE, (edge + size) * MODULE
    flat = np.array([[near, near], [far, near], [far, far], [near, far]])
    true = flat @ there[:, :2].T + there[:, 2]
    assert min(np.abs(np.roll(corners, by, 0) - true).max() for by in range(4)) < MODULE


def test_a_tiny_place_has_no_square() -> None:
    """Nothing to look at."""
    assert list(framing.squares(np.full((9, 9), 120, np.uint8))) == []
