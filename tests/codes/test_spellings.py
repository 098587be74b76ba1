"""Whatever way a label arrives, its key is among those that were written down for its thing."""

from datetime import date

import pytest

from inventory.codes import spellings
from inventory.codes.serials import look_up_key

ARTICLE = "09520123456788"  # GS1's prefix for examples, 952
KEYS = spellings.of_unit("SN-01", [ARTICLE], "LOT7", date(2026, 11, 3))


# Element strings: GS1 General Specifications, figures of sections 5.10 and 7.8 (from memory);
# web addresses: GS1 Digital Link URI syntax 1.2.
@pytest.mark.parametrize(
    "text",
    [
        "SN-01",
        " SN-01\r",
        "]C10109520123456788" + "21SN-01",
        "]d2010952012345678810LOT7\x1d21SN-01",
        "]Q3010952012345678810LOT721SN-01",  # a scanner that lost the separator
        "\x1d010952012345678821SN-01\x1d10LOT7\r\n",
        "0109520123456788112611031" + "0LOT7\x1d21SN-01",
        "010952012345678810LOT7{GS}21SN-01",
        "010952012345678821SN-01<GS>10LOT7",
        "(01)09520123456788(21)SN-01",
        "(01)09520123456788(10)LOT7(21)SN-01",
        "https://id.gs1.org/01/09520123456788/21/SN-01",
        "https://id.gs1.org/01/09520123456788/10/LOT7/21/SN-01",
    ],
)
def test_each_spelling_of_a_label_is_among_its_keys(text: str) -> None:
    """Separators, brackets, order, symbol marks: all come to a key that was written down."""
    assert look_up_key(text) in KEYS


def test_another_serial_is_not_among_them() -> None:
    """Nothing here takes one thing for another."""
    other = spellings.of_unit("SN-02", [ARTICLE], "LOT7", date(2026, 11, 3))

    assert not KEYS & other


def test_a_label_seen_once_teaches_those_of_its_item() -> None:
    """A maker's own web address, or fields between, serve for the next serial."""
    learnt = spellings.pattern("https://example.com/u/SN-01?v=2", "SN-01")

    keys = spellings.of_unit("SN-77", [], learnt=[learnt])

    assert look_up_key("https://example.com/u/SN-77?v=2\r") in keys
    assert spellings.pattern("no serial in it", "SN-01") == ""
    assert spellings.pattern("1-1", "1") == ""  # twice in it: which one is the serial?


def test_an_article_number_has_its_spellings() -> None:
    """Thirteen digits or fourteen, as element string or address."""
    keys = spellings.of_article("9520123456788")

    for text in ("9520123456788", "]E09520123456788", f"01{ARTICLE}", f"(01){ARTICLE}"):
        assert look_up_key(text) in keys
    assert spellings.of_article("CT-CLAMP") == {"CT-CLAMP"}
