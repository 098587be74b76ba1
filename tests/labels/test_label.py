"""A label says what it carries and refuses what cannot be printed."""

import pytest

from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label
from tests.labels.some import BAG, UNIT


def test_a_plain_label_carries_its_code() -> None:
    """The bytes in the symbols are the code, and people read the same."""
    assert BAG.carried == b"LBG000007W"
    assert BAG.human == "LBG000007W"


def test_a_gs1_label_shows_brackets_and_carries_none() -> None:
    """Brackets stand in the print only; the fixed-length 01 needs no separator behind it."""
    assert UNIT.human == "(01)09521234543213(21)AB12CD"
    assert UNIT.carried == b"010952123454321321AB12CD"


@pytest.mark.parametrize(
    ("pairs", "carried"),
    [
        # 10 is of variable length: a separator unless it is last
        ((("10", "L7"), ("21", "A1")), b"10L7\x1d21A1"),
        # 17 has a predefined length
        ((("17", "281231"), ("10", "L7")), b"1728123110L7"),
        # 3103 begins with 31, a predefined length
        ((("3103", "001500"), ("10", "L7")), b"310300150010L7"),
        # 8008 is variable
        ((("8008", "26112506"), ("10", "L7")), b"800826112506\x1d10L7"),
    ],
)
def test_a_separator_stands_only_where_gs1_wants_one(pairs, carried) -> None:
    """Source: GS1 General Specifications, element strings with pre-defined length."""
    assert carried == Label("item", "x", pairs=pairs).carried


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"kind": "box"}, "box label A1: expected a kind out of"),
        ({"matrix": "aztec"}, "expected a matrix out of datamatrix, qr, got 'aztec'"),
        ({"title": ""}, "expected a title of 1 to 60 characters, got ''"),
        ({"title": "x" * 61}, "expected a title of 1 to 60 characters"),
        ({"lines": ("a",) * 4}, "expected at most 3 lines, got 4"),
        ({"title": "a\x00b"}, "expected print without control characters"),
        ({"code": ""}, "expected either a code or GS1 pairs"),
        ({"pairs": (("21", "A"),)}, "expected either a code or GS1 pairs"),
        ({"code": " A1"}, "expected a code of printable ASCII with no blank at either end"),
        ({"code": "A\n1"}, "expected a code of printable ASCII"),
        ({"code": "Ä1"}, "expected a code of printable ASCII"),
        ({"code": "A" * 49}, "expected at most 48 characters in the code, got 49"),
        # a bracket would be taken for an identifier
        ({"code": "", "pairs": (("21", "A[10]"),)}, "expected GS1 pairs"),
        ({"code": "", "pairs": (("x", "A"),)}, "expected GS1 pairs"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_words(changes, message) -> None:
    """The refusal names the label, what was expected and what came."""
    with pytest.raises(LabelRefused) as refusal:
        Label(**({"kind": "unit", "title": "Module", "code": "A1"} | changes))

    assert message in str(refusal.value)
