"""The square code is square, and of the standard's sizes."""

import pytest

from inventory.labels import matrix
from tests.labels.some import BAG, LONG, QR, UNIT


@pytest.mark.parametrize(
    ("label", "side"),
    [
        # letters one codeword each, digits in pairs: 3 + 3 + 1 = 7 codewords, 14 x 14 holds 8
        (BAG, 14),
        # FNC1 1, "0109521234543213" 8, "21" 1, "AB12CD" 5 = 15 codewords, 18 x 18 holds 18
        (UNIT, 18),
        # 1 + 8 + 1 + 20 = 30 codewords, 22 x 22 holds 30
        (LONG, 22),
        (QR, 21),  # version 1 holds 20 capitals and digits at level M
    ],
)
def test_the_symbol_is_square(label, side) -> None:
    """The side is the smallest that holds the data. Source: ISO/IEC 16022, 18004 (from memory)."""
    rows = matrix.modules(label)

    assert [len(row) for row in rows] == [side] * side


def test_a_data_matrix_has_its_solid_edges_left_and_below() -> None:
    """Source: ISO/IEC 16022, finder pattern: an L of dark modules."""
    rows = matrix.modules(BAG)

    assert {row[0] for row in rows} == {"1"}
    assert set(rows[-1]) == {"1"}
