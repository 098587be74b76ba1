"""Two hits are of one symbol where their boxes lie on one another."""

import pytest

from inventory.pictures.hit import Hit, same_symbol


@pytest.mark.parametrize(
    ("box", "same"),
    [
        ((100, 50, 200, 4), True),  # the same line code, one scan line higher
        ((120, 40, 160, 60), True),  # seen larger
        ((100, 75, 200, 4), False),  # the next label below
        ((420, 52, 200, 4), False),  # the label beside it
    ],
)
def test_boxes_tell_whether_two_hits_are_one_symbol(box, same) -> None:
    """A line code 200 px wide at (100, 52)."""
    one, other = Hit("A", "EAN13", (100, 52, 200, 4)), Hit("B", "EAN13", box)

    assert same_symbol(one, other) is same
    assert same_symbol(other, one) is same
