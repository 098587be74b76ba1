"""Light and print along bars that are known, by either way."""

import numpy as np
import pytest

from inventory.pictures import levels, weighing
from inventory.pictures.levels import State
from inventory.pictures.weighing import ENDED, WIDE

SYMBOLS = (104, 51, 46, 99, 1, 23, 45, 67, 89, 54, 106)
MODULE = 2.3  # px


def test_a_spot_over_all_lines_is_told_and_even_changes_are_line_by_line() -> None:
    """White 200, dark 40 and a spot that the third line has most of; told up to 215."""
    size = round((WIDE * (len(SYMBOLS) - 1) + ENDED) * MODULE)
    state = State(np.array([30.0, 30.0 + size, 0, 0, 0, 0.7]), SYMBOLS)
    samples = levels.sampled(np.zeros((4, size + 60)), state.place, len(SYMBOLS) - 1)
    drawn = weighing.drawn(SYMBOLS, 0.7, len(samples))
    at = np.arange(size + 60)
    place = np.interp(at, 30 + (np.arange(len(samples)) / 4 - 6) * MODULE, np.arange(len(samples)))
    across = np.interp(place, np.arange(len(samples)), drawn)
    spots = [
        s * np.exp(-(((at - 0.4 * size) / size) ** 2) / (2 * 0.2**2)) for s in (60, 90, 110, 90)
    ]
    white, dark = (
        np.array([np.minimum(215, level + spot) for spot in spots]) for level in (200.0, 40.0)
    )
    lines = white - (white - dark) * across
    lines += np.random.default_rng(3).normal(0, 1, lines.shape)

    middle = len(samples) // 2
    there = (white - dark)[:, round(30 + (middle / 4 - 6) * MODULE)]
    for levelled in (levels.even(lines, state), levels.spotted(lines, state, 0.3 * size)):
        assert levelled.print[middle] == pytest.approx(there, abs=15)
        assert levelled.unlike < 0.01
        assert levelled.worst(len(SYMBOLS)) < 0.1
