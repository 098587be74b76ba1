"""Symbology identifiers."""

import pytest

from inventory.codes import symbology
from inventory.codes.errors import CodeError
from inventory.codes.symbology import Carrier


@pytest.mark.parametrize(
    ("text", "carrier"),
    [
        ("]C1x", Carrier.ELEMENTS),
        ("]Q3x", Carrier.ELEMENTS),
        ("]e0x", Carrier.ELEMENTS),
        ("]E0x", Carrier.ARTICLE),  # case matters: not DataBar
        ("]E4x", Carrier.ARTICLE_8),
        ("]I1x", Carrier.ITF),
        ("]C0x", Carrier.PLAIN),
        ("]d1x", Carrier.PLAIN),
        ("x", Carrier.UNKNOWN),
    ],
)
def test_carriers(text, carrier):
    """The identifier says what content may be expected."""
    scan = symbology.parse(text)

    assert (carrier, "x") == (scan.carrier, scan.text)


@pytest.mark.parametrize("text", ["]", "]X", "]XX", "]C", "]C\u0661"])
def test_unknown_identifiers(text):
    """What is no identifier is refused, never taken as data."""
    with pytest.raises(CodeError) as refusal:
        symbology.parse(text)

    assert refusal.value.kind == "unknown_symbology_id"
