"""Texts of digits only."""

import pytest

from inventory.codes import digit_reading
from inventory.codes.errors import CodeError
from inventory.codes.known import NOTHING, listed
from inventory.codes.request import Request


def read(digits, known=NOTHING, **context):
    return digit_reading.read(Request(digits, "symbol", known, context), digits)


@pytest.mark.parametrize(
    ("digits", "context", "gtin"),
    [
        ("02345673", {"symbology": "EAN-8"}, "00000002345673"),
        ("02345673", {"symbology": "UPC-E"}, "00023456000073"),
        ("15400141288763", {"symbology": "ITF"}, "15400141288763"),
        ("697929110035", {}, "00697929110035"),
    ],
)
def test_symbology_decides(digits, context, gtin):
    """Eight digits are EAN-8 or UPC-E as their symbol says; the key is always 14 digits."""
    assert read(digits, **context).fields == {"gtin": gtin}


def test_the_catalogue_decides_between_two_meanings():
    """Of two meanings of 8 digits the one that is known is taken; two known ones are asked."""
    assert read("02345673", listed(["00023456000073"])).fields == {"gtin": "00023456000073"}
    with pytest.raises(CodeError, match="either"):
        read("02345673", listed(["00023456000073", "00000002345673"]))


def test_container_code():
    """Eighteen digits with a right check digit are a container code."""
    assert read("952012345678912345").fields == {"sscc": "952012345678912345"}


@pytest.mark.parametrize(
    ("digits", "context", "kind"),
    [
        ("1234567890", {"symbology": "ITF"}, "wrong_length"),
        ("02345674", {"symbology": "UPC-E"}, "check_digit"),
        ("952012345678912346", {}, "check_digit"),
        ("9999", {}, "generator_bug"),
        ("951234567", {}, "check_or_length_fails"),
        ("4001234567", {}, "check_or_length_fails"),
        ("07541231925", {}, "wrong_length"),
    ],
)
def test_refusals(digits, context, kind):
    """Digits that nothing checks are refused; internal and order elements never stand bare."""
    with pytest.raises(CodeError) as refusal:
        read(digits, **context)

    assert refusal.value.kind == kind
