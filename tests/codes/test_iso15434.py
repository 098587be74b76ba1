"""ISO/IEC 15434 messages."""

import pytest

from inventory.codes import iso15434
from inventory.codes.errors import CodeError

WHOLE = "[)>\x1e06\x1d1PABC-1\x1dSSN0001\x1e\x04"


@pytest.mark.parametrize(
    ("text", "warnings"),
    [
        (WHOLE, ()),
        (WHOLE.replace("\x1d", "\u241d"), ("text_tokens_replaced",)),  # control pictures
        (WHOLE[:-2], ("missing_eot", "missing_format_trailer")),
    ],
)
def test_forgiven_faults(text, warnings):
    """What a scanner drops at the ends is forgiven with a warning."""
    message = iso15434.parse(text)

    assert message.formats == (("06", (("1P", "ABC-1"), ("S", "SN0001"))),)
    assert message.warnings == warnings


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("[)>\x1e061PABC-1\x1dSSN0001\x1e\x04", "separators_lost"),
        ("[)>", "separators_lost"),
        ("[)>\x1e\x04", "unsupported_format"),
        ("[)>\x1e06\x1dSA\x1e\x1e\x04", "unsupported_format"),
        ("[)>\x1e06\x1dSA\x1d\x1e\x04", "bad_di_syntax"),
        ("[)>\x1e05\x1d14261231\x1e\x04", "unknown_ai"),
    ],
)
def test_bad_messages(text, kind):
    """A separator lost between elements is never forgiven."""
    with pytest.raises(CodeError) as refusal:
        iso15434.parse(text)

    assert refusal.value.kind == kind


def test_bare_controls_are_offered():
    """Ctrl+^ and Ctrl+] without Ctrl are put back; other texts give nothing."""
    assert iso15434.with_bare_controls("[)>^06]1PABC-1]SSN0001^") == WHOLE
    assert iso15434.with_bare_controls(WHOLE) == ""
    assert iso15434.with_bare_controls("[)>061PABC") == ""
