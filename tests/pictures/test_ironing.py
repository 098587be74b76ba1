"""Bars are straightened, averaged along their length, and their blur is taken back."""

import cv2
import numpy as np
import pytest

from inventory.pictures import bars, decoders, ironing, preparing
from inventory.pictures.hit import Hit
from tests.pictures.singles import drawn

STRIPES = np.repeat(np.random.default_rng(7).choice([40.0, 220.0], 60), 5).astype(np.float32)


def test_leaning_bars_are_put_upright() -> None:
    """Sheared by 9 px over their height, they give one line again."""
    rows = np.stack([np.roll(STRIPES, round(9 * row / 40)) for row in range(40)])
    straight = ironing.straightened(rows)[:, 20:-20]

    assert rows[:, 20:-20].std(axis=0).mean() > 40
    assert straight.std(axis=0).mean() < 20


def test_blur_is_taken_back() -> None:
    """More than half of the contrast that the blur took from the stripes is there again."""
    blur = ironing.gaussian(3.0)
    soft = cv2.filter2D(STRIPES[None], cv2.CV_32F, blur, borderType=cv2.BORDER_REPLICATE)
    back = ironing.unblurred(soft, blur)

    assert back.std() > (soft.std() + STRIPES.std()) / 2
    assert np.corrcoef(back[0], STRIPES)[0, 1] > 0.9


def test_light_and_dark_reach_from_0_to_255_everywhere() -> None:
    """A shadow over half of a line leaves its bars as clear as the others."""
    shadow = np.linspace(1, 0.3, STRIPES.size, dtype=np.float32)
    level = ironing.levelled((STRIPES * shadow)[None])[0]

    for half in (level[:150], level[150:]):
        assert half.min() < 40
        assert half.max() > 215


def blurred_code(sigma: float) -> preparing.Grey:
    """An EAN-13 of 3 px a module, out of focus, grainy, on white."""
    code = cv2.resize(drawn("9521234543213", "EAN13"), None, fx=0.5, fy=0.5)
    wide = np.pad(code, 60, constant_values=255)
    soft = cv2.GaussianBlur(wide, (0, 0), sigma).astype(float)
    grain = np.random.default_rng(3).normal(0, 4, soft.shape)
    return np.clip(soft + grain, 0, 255).astype(np.uint8)


def hits(grey: preparing.Grey) -> list[Hit]:
    return [hit for view in ironing.all_ironed(grey) for hit in decoders.zxing_lines(view)]


def test_a_code_out_of_focus_is_read_ironed_and_only_so() -> None:
    """0.67 modules of blur: the limit of both decoders is 0.6 (measured, 24 Nov 2026)."""
    grey = blurred_code(2.0)

    for prepare in (preparing.raw, preparing.clahe, preparing.doubled):
        assert decoders.zxing(prepare(grey)) == []
    assert decoders.zbar(preparing.smoothed(grey)) == []
    assert "9521234543213" in {hit.text for hit in hits(grey)}


def test_the_box_of_an_ironed_code_is_the_whole_code() -> None:
    """Whichever band was read."""
    grey = blurred_code(1.0)
    [place, *_] = bars.find(grey)
    x, y, width, height = hits(grey)[0].box

    assert (x + width / 2, y + height / 2) == pytest.approx(
        (grey.shape[1] / 2, grey.shape[0] / 2), abs=30
    )
    assert height > (place.bottom - place.top) * 0.8


def test_bars_too_short_are_left_out() -> None:
    """There is nothing to average in a strip of two px."""
    grey = blurred_code(1.0)
    flat = bars.Bars(0.0, 50.0, 300.0, 100.0, 102.0, 1.0)

    assert ironing.ironed(grey, flat) is None
