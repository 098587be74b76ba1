"""A code is told from words by how often dark and light change, along and across."""

import cv2
import numpy as np
import pytest

from inventory.pictures.changes import Changes, changes
from tests.pictures import walls


def inner(kind: str, text: str) -> np.ndarray:
    """A symbol of a wall without its quiet zone."""
    label = walls.drawn(kind, text, 4.0).astype(np.uint8)
    rows, columns = np.nonzero(label < 100)
    return label[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]


def test_bars_change_across_and_not_along() -> None:
    """Turned by 90 degrees as well. A bar and a space are one change each, some 70 in all."""
    found = changes(inner("line", "SN0123456789"))

    assert found.across > 30
    assert found.down < 1
    assert found.like_bars
    assert not found.like_square
    assert changes(np.ascontiguousarray(inner("line", "SN0123456789").T)).like_bars


@pytest.mark.parametrize("kind", ["qr", "datamatrix"])
def test_a_square_code_changes_either_way(kind) -> None:
    """As often along as across."""
    found = changes(inner(kind, "A1B2C3D4E5F6"))

    assert found.like_square
    assert not found.like_bars


def test_plain_ground_never_changes_and_words_do_so_seldom_from_top_to_bottom() -> None:
    """A line of print is a few strokes high."""
    sheet = np.full((60, 420), 240, np.uint8)

    assert changes(sheet) == Changes(0.0, 0.0)
    cv2.putText(sheet, "Bay 8 shelf 2", (10, 45), cv2.FONT_HERSHEY_SIMPLEX, 1.6, (20,), 3)
    assert not changes(sheet).like_square
