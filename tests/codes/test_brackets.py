"""Elements in brackets."""

import pytest

from inventory.codes import brackets
from inventory.codes.errors import CodeError


def test_blanks_go_only_when_typed_by_hand():
    """Blanks beside brackets are print; a scan may not hold them."""
    text = "(01) 09520123456788 (21) SN0001"
    expected = (("01", "09520123456788"), ("21", "SN0001"))

    assert expected == brackets.parse(text, strip=True)
    with pytest.raises(CodeError):
        brackets.parse(text)


@pytest.mark.parametrize(
    ("text", "kind"),
    [("(14)261231", "unknown_ai"), ("(10)A(", "bad_ai_syntax"), ("10)A", "bad_ai_syntax")],
)
def test_bad_brackets(text, kind):
    """Open, unknown and missing brackets are named."""
    with pytest.raises(CodeError) as refusal:
        brackets.parse(text)

    assert kind == refusal.value.kind
