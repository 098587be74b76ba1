"""GS1 element strings."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.codes import check_digits, element_strings
from inventory.codes.characters import CSET82
from inventory.codes.errors import CodeError

VALUES = st.text(alphabet=sorted(CSET82), min_size=1, max_size=20)


@given(st.integers(0, 10**13 - 1), VALUES, VALUES)
def test_write_and_parse_are_inverse(number, lot, serial):
    """Elements written with their separators are read back, whatever their characters."""
    stem = f"{number:013}"
    elements = (("01", stem + check_digits.check_digit(stem)), ("10", lot), ("21", serial))

    assert elements == element_strings.parse(element_strings.write(elements))


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("10A\x1d\x1d21B", "unknown_ai"),  # doubled separator
        ("0109520123456788\x1d\x1d", "unknown_ai"),
        ("10\x1d21B", "empty_value"),
        ("01095201\x1d23456788", "too_short"),  # separator inside a predefined length
        ("1", "unknown_ai"),
    ],
)
def test_bad_separators(text, kind):
    """A separator in the wrong place is never skipped."""
    with pytest.raises(CodeError) as refusal:
        element_strings.parse(text)

    assert kind == refusal.value.kind
