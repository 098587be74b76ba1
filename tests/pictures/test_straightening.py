"""The mean along bars, once these stand upright."""

import numpy as np

from inventory.pictures import straightening

STRIPES = np.repeat(np.random.default_rng(7).choice([40.0, 220.0], 60), 5).astype(np.float32)


def test_leaning_bars_are_put_upright() -> None:
    """Sheared by 9 px over their height, they give one line again."""
    rows = np.stack([np.roll(STRIPES, round(9 * row / 40)) for row in range(40)])
    straight = straightening.straightened(rows)[:, 20:-20]

    assert rows[:, 20:-20].std(axis=0).mean() > 40
    assert straight.std(axis=0).mean() < 20


def test_bars_are_told_from_the_ground_above_and_below() -> None:
    """Bars from row 30 to row 80 on plain ground: found, and their mean is what they are."""
    scene = np.full((120, STRIPES.size), 150, np.uint8)
    scene[30:80] = STRIPES
    line = straightening.across(scene)

    assert line is not None
    assert abs(line.top - 30) < 4
    assert abs(line.bottom - 80) < 4
    assert np.abs(line.lines - STRIPES)[:, 5:-5].mean() < 2


def test_bars_whose_rows_fall_are_set_level() -> None:
    """Seen aslant, upright bars stand each lower than the one before: by 0.1 px a px."""
    scene = np.full((160, STRIPES.size), 150, np.uint8)
    for x, grey in enumerate(STRIPES):
        top = round(55 + 0.1 * (x - STRIPES.size / 2))
        scene[top : top + 50, x] = grey
    line = straightening.across(scene)

    assert line is not None
    assert abs(line.falls - 0.1) < 0.02
    assert abs(line.top - 55) < 4
    assert abs(line.bottom - 105) < 4
    assert len(line.lines) == straightening.BANDS
    assert np.abs(line.lines - STRIPES)[:, 5:-5].mean() < 4


def test_bars_too_short_are_left_out() -> None:
    """There is nothing to average in a strip of three px."""
    assert straightening.across(np.tile(STRIPES.astype(np.uint8), (3, 1))) is None
