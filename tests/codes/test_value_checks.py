"""The form of values behind GS1 identifiers."""

import pytest

from inventory.codes import identifiers, value_checks
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("code", "value"),
    [
        ("10", "A"),
        ("10", "!%?_z" * 4),  # 20 characters, marks of set 82
        ("4330", "002500-"),  # optional sign
        ("7007", "260101260131"),
        ("7007", "260101"),
        ("8013", "1987654Ad4X4bL5ttr2310c2K"),  # GS1's example of a model number, from memory
        ("4324", "2602002359"),
        ("8011", "0"),
    ],
)
def test_good_values(code, value):
    """These values stand behind their identifiers."""
    assert value_checks.check(identifiers.table()[code], value) is None


@pytest.mark.parametrize(
    ("code", "value", "kind"),
    [
        ("10", "", "empty_value"),
        ("10", "A" * 21, "too_long"),
        ("10", "A\u00e4", "illegal_character"),
        ("01", "0952012345678A", "illegal_character"),
        ("7007", "2601012601", "wrong_length"),
        ("8006", "095201234567880002", "zero_piece"),
        ("8006", "095201234567880302", "piece_exceeds_total"),
        ("8008", "26013125", "bad_time"),
        ("8008", "2601311260", "bad_time"),
        ("8013", "1987654Ad4X4bL5ttr2310c2L", "check_pair"),
        ("4321", "2", "bad_flag"),
        ("4330", "002500+", "bad_sign"),
        ("8001", "00001234512398", "zero_value"),
    ],
)
def test_bad_values(code, value, kind):
    """Each fault has its own name, and the message names the identifier."""
    with pytest.raises(CodeError) as refusal:
        value_checks.check(identifiers.table()[code], value)

    assert kind == refusal.value.kind
    assert refusal.value.message.startswith(f"({code}) ")
