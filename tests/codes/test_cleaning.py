"""What surrounds a text, and spellings of the separator."""

import pytest

from inventory.codes import cleaning


@pytest.mark.parametrize(
    ("text", "via", "expected"),
    [
        ("\r\n\x01A\x1dB\r\n\t", "keys", "A\x1dB"),
        ("A\x1d\r", "keys", "A\x1d"),  # a separator at the end is data
        ("\nA\r", "symbol", "\nA\r"),
        ("\nA\r", "", "\nA\r"),
        ("  A B \n", "hand", "A B"),
    ],
)
def test_strip(text, via, expected):
    """Keys lose leading controls and the suffix, hands lose blanks, symbols nothing."""
    assert cleaning.strip(text, via) == expected


def test_scans():
    """CR, CR LF and Tab end a scan; LF alone does not."""
    assert cleaning.scans("A\rB\r\nC\tD", "keys") == ["A", "B", "C", "D"]
    assert cleaning.scans("A\nB", "keys") == ["A\nB"]
    assert cleaning.scans("A\rB", "symbol") == ["A\rB"]


@pytest.mark.parametrize(
    ("text", "configured", "expected", "warnings"),
    [
        ("A|B", "|", "A\x1dB", ()),
        ("A_B", "_", "A\x1dB", ("separator_may_be_data",)),
        ("A<GS>B{GS}C\u241dD", "", "A\x1dB\x1dC\x1dD", ("text_token_replaced",)),
        ("A7B", "7", "A7B", ()),  # a letter or digit is never a separator
        ("A029B", "029", "A029B", ()),
    ],
)
def test_with_separators(text, configured, expected, warnings):
    """Known spellings become the separator."""
    assert cleaning.with_separators(text, configured) == (expected, warnings)
