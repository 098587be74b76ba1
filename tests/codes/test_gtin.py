"""Article numbers."""

import pytest

from inventory.codes import gtin
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("short", "whole"),
    [
        ("04256212", "042100005622"),  # last digit 0 to 2
        ("07774441", "077740000041"),  # 4
        ("02345673", "023456000073"),  # 5 to 9
    ],
)
def test_upc_e_expands(short, whole):
    """The three shapes of the published threads (wedge cases w44, w45, w47)."""
    assert whole == gtin.expand_upc_e(short)


def test_upc_e_with_three():
    """Last digit 3: five zeros before two digits."""
    assert gtin.expand_upc_e("01234531") == "012300000451"


@pytest.mark.parametrize(
    ("text", "kind"),
    [("21234567", "bad_number_system"), ("04256213", "check_digit"), ("425621", "wrong_length")],
)
def test_bad_upc_e(text, kind):
    """Number system, check digit and length are judged."""
    with pytest.raises(CodeError) as refusal:
        gtin.expand_upc_e(text)

    assert kind == refusal.value.kind


@pytest.mark.parametrize(
    "text", ["", "952012345678", "abcdefgh", "9520123456789", "95201234567881"]
)
def test_bad_numbers(text):
    """Wrong lengths and wrong digits are no article numbers."""
    assert not gtin.is_valid(text)
    with pytest.raises(CodeError):
        gtin.normal(text)


def test_restricted_circulation():
    """Prefixes 02 and 20 to 29 mean nothing outside a firm; short numbers are not judged."""
    assert gtin.is_restricted("00231566199093")
    assert gtin.is_restricted("02112345678900")
    assert not gtin.is_restricted("09520123456788")
    assert not gtin.is_restricted("00000002345673")
