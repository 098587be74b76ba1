"""The line code is Code 128 and keeps a leading 99."""

import pytest
from barcode.codex import Code128

from inventory.labels import linear
from inventory.labels.label import Label
from tests.labels.some import BAG, NINES, UNIT

START_C, PAIR_99, FNC1 = "11010011100", "10111011110", "11110101110"  # Code 128 patterns
STOP = "1100011101011"


def test_the_bars_begin_and_end_as_code_128_does() -> None:
    """Every sign is 11 modules wide, the stop 13."""
    bars = linear.modules(BAG)

    assert bars.endswith(STOP)
    assert (len(bars) - 13) % 11 == 0


def test_a_leading_99_is_kept() -> None:
    """The library alone drops the pair; ours starts in set C and then says 99."""
    assert linear.modules(NINES).startswith(START_C + PAIR_99)
    assert not Code128(NINES.code).build()[0].startswith(START_C + PAIR_99)


@pytest.mark.parametrize("code", ["99", "991", "99A", "9A", "99991", "A99", "100099"])
def test_every_start_has_the_length_of_its_signs(code) -> None:
    """No sign is lost whatever the first characters are: start, data, check, stop."""
    bars = linear.modules(Label("unit", "x", code=code))

    assert len(bars) >= 13 + 11 * (2 + (len(code) + 1) // 2)


def test_gs1_data_begin_with_function_one() -> None:
    """FNC1 in the first place is what makes Code 128 a GS1-128."""
    assert linear.modules(UNIT).startswith(START_C + FNC1)
