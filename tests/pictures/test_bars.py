"""Line codes are found by the way their edges run, and set upright."""

import cv2
import numpy as np
import pytest

from inventory.pictures import bars, decoders, preparing
from tests.pictures.singles import drawn

TEXT = "SN0123456789"


def scene(degrees: float) -> np.ndarray:
    """A Code 128 turned by so many degrees in the middle of a grey carton with print on it."""
    code = cv2.resize(drawn(TEXT, "Code128"), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    turned = preparing.turned(code, degrees).pixels
    white = preparing.turned(np.full_like(code, 1), degrees).pixels == 1
    canvas = np.full((700, 760), 150, np.uint8)
    cv2.putText(canvas, "PO 7059782", (20, 40), cv2.FONT_HERSHEY_SIMPLEX, 1, (20,), 2)
    top, left = (canvas.shape[0] - turned.shape[0]) // 2, (canvas.shape[1] - turned.shape[1]) // 2
    place = canvas[top : top + turned.shape[0], left : left + turned.shape[1]]
    place[white] = turned[white]
    return canvas


@pytest.mark.parametrize("degrees", [0, 30, -30, 45, 75, 90])
def test_a_line_code_is_found_at_every_angle(degrees) -> None:
    """The angle to 2 degrees, the middle within a tenth of the code; set upright it is read.

    zxing-cpp alone reads no line code between 20 and 60 degrees (measured, 24 Nov 2026).
    """
    grey = scene(degrees)
    [place, *_] = bars.find(grey)
    apart = (np.degrees(place.turn) + degrees + 90) % 180 - 90
    view = bars.upright(grey, place, 2)
    height, width = view.pixels.shape
    middle = view.back[:, :2] @ (width / 2, height / 2) + view.back[:, 2]

    assert apart == pytest.approx(0, abs=2)
    assert middle == pytest.approx((380, 350), abs=40)
    assert TEXT in {hit.text for view in bars.uprights(grey) for hit in decoders.zxing_lines(view)}


def test_boxes_of_an_upright_code_lie_where_it_stands() -> None:
    """In px of the picture, round its middle."""
    [hit] = [hit for view in bars.uprights(scene(45))[:1] for hit in decoders.zxing_lines(view)]
    x, y, width, height = hit.box

    assert (x + width / 2, y + height / 2) == pytest.approx((380, 350), abs=40)


def test_a_code_that_fills_a_large_photo_is_not_enlarged() -> None:
    """More px would cost the time of all other steps and tell nothing new."""
    stripes = np.tile(np.repeat(np.random.default_rng(1).choice([0, 255], 500), 8), (3_000, 1))
    [view, *_] = bars.uprights_large(stripes.astype(np.uint8))

    assert max(view.pixels.shape) == pytest.approx(bars.MOST, abs=2)


def test_plain_ground_has_no_bars() -> None:
    """Nothing to set upright, nothing to spend time on."""
    assert bars.find(np.full((300, 400), 128, np.uint8)) == []
    assert bars.find(np.full((40, 2_000), 128, np.uint8)) == []
