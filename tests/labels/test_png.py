"""A label as a picture has whole pixels per module."""

import io

import numpy as np
import pytest
from PIL import Image

from inventory.labels.drawing import RESOLUTIONS, draw
from inventory.labels.png import png
from tests.labels.some import BAG, EVERY


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("label", EVERY, ids=lambda label: label.human)
def test_the_file_holds_the_drawing_dot_for_dot(label, dpi) -> None:
    """Each bar is black in the file and the file says its resolution."""
    image = Image.open(io.BytesIO(png(label, dpi)))
    grey = np.asarray(image)

    assert image.format == "PNG"
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
    assert all(
        not grey[bar.y : bar.y + bar.height, bar.x : bar.x + bar.width].any()
        for bar in draw(label, dpi).bars
    )


def test_the_same_label_gives_the_same_bytes() -> None:
    """No time and no random number is in the file."""
    assert png(BAG) == png(BAG)
