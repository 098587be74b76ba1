"""The chain goes from cheap to dear and can be left after any step."""

import numpy as np
import pytest
from PIL import Image

from inventory.pictures import decoding
from inventory.pictures.decoding import ONE_LABEL, decode
from tests.pictures.hostile import code_image


def scene(size: int, *places: tuple[int, int]) -> np.ndarray:
    """White with one Data Matrix, its own text, at each place."""
    canvas = Image.new("L", (size, size), 255)
    for number, place in enumerate(places):
        canvas.paste(code_image(f"A{number}B{number}C").convert("L"), place)
    return np.asarray(canvas)


def test_the_first_step_reads_a_clean_label() -> None:
    """The caller may stop here."""
    name, hits = next(decode(scene(300, (50, 60))))

    assert name == "zxing"
    assert [hit.text for hit in hits] == ["A0B0C"]


def test_all_steps_run_for_one_who_asks_for_them() -> None:
    """Each preparation is tried; zxing-cpp comes first and pyzbar follows."""
    names = [name for name, _ in decode(scene(300))]

    assert names == [step.name for step in ONE_LABEL]
    assert names[0].startswith("zxing")
    assert any(name.startswith("zbar") for name in names)


def test_boxes_of_a_large_photo_are_in_its_own_pixels() -> None:
    """The photo is made smaller for the decoders, its boxes are not."""
    [hit] = next(decode(scene(3_000, (2_000, 1_500))))[1]

    assert hit.box[0] == pytest.approx(2_012, abs=8)
    assert hit.box[1] == pytest.approx(1_512, abs=8)


def test_no_step_begins_when_the_time_is_used_up(monkeypatch) -> None:
    """A photo full of noise ends with what there is."""
    monkeypatch.setattr(decoding, "BUDGET", -1.0)

    assert list(decode(scene(300, (50, 60)))) == []


def test_the_largest_photo_that_is_taken_is_decoded() -> None:
    """24 million px are made smaller first."""
    assert next(decode(np.full((3_999, 6_001), 255, np.uint8)))[0] == "zxing"
