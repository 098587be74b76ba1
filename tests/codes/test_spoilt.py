"""What spreadsheets do to serials is seen, and a serial that only looks odd is left alone."""

import pytest

from inventory.codes.spoilt import cut_digits, lost_zeros, spoilt


@pytest.mark.parametrize(
    ("serial", "expected"),
    [
        ("1.23E+14", "a number"),
        ("1,23E+14", "a number"),
        ("1E+12", "a number"),
        ("1e+12", "a number"),
        ("1.5E14", "a number"),
        ("12345.0", "a number"),
        ("12345,00", "a number"),
        ("1234567.0000001", "a number"),
        ("1234566.9999999", "a number"),
        ("1,234,567", "a number"),
        ("#REF!", "an error of a formula"),
        ("#N/A", "an error of a formula"),
        ("40E12", ""),
        ("SN-1E+12", ""),
        ("004.123.456", ""),
        ("2024.0013", ""),
        ("000123", ""),
    ],
)
def test_a_spoilt_serial_shows_by_itself(serial: str, expected: str) -> None:
    """Powers of ten, tails, thousands and errors of formulas; common practice, no source."""
    assert spoilt(serial) == expected


def test_lost_zeros_show_among_the_others() -> None:
    """One shorter than nearly all others of digits; few, or of many lengths, say nothing."""
    usual = [f"00{n:04d}" for n in range(20)]

    assert lost_zeros([*usual, "1234"]) == {"1234": 6}
    assert lost_zeros(["123456", "1234"]) == {}
    assert lost_zeros([str(n) for n in range(1, 150)]) == {}
    assert lost_zeros([*usual, "AB12"]) == {}


def test_digits_beyond_fifteen_that_are_all_zeros_were_cut() -> None:
    """IEEE 754 keeps 15 decimal digits; one true tail shows that the zeros are the serials' own."""
    cut = ["123456789012345000", "123456789012346000"]

    assert cut_digits(cut) == set(cut)
    assert cut_digits([*cut, "123456789012347001"]) == set()
    assert cut_digits(["1234567890123450"]) == set()
