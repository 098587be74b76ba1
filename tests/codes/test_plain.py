"""Label profiles of suppliers."""

import pytest

from inventory.codes import plain
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("pattern", "text", "fields"),
    [
        ("SN{serial:d8}", "SN00001234", {"serial": "00001234"}),
        ("{item:a2d3}-{serial:n4-8}", "AB123-X9Y8Z", {"item": "AB123", "serial": "X9Y8Z"}),
        ("{serial:x6}{_:x2}", "ABCDEF99", {"serial": "ABCDEF"}),
        ("https://example.com/p/{serial:n5}", "https://example.com/p/A1B2C", {"serial": "A1B2C"}),
        ("A.B{serial:d1}", "AxB1", {}),  # a full stop is a full stop
        ("SN{serial:d8}", "SN0000123", {}),
        ("SN{serial:d8}", "SN00001234\n", {}),
        ("SN{serial:d2}", "SN\u0661\u0662", {}),
        ("SN{serial:x1-200}", "SN" + "A" * 200, {}),  # longer than a profile judges
    ],
)
def test_fields(pattern, text, fields):
    """A text follows a pattern as a whole or not at all."""
    assert plain.compile_pattern(pattern).fields(text) == fields


@pytest.mark.parametrize(
    "pattern",
    [
        "",
        "SN",
        "{serial}",
        "{serial:d0}",
        "{serial:d9-2}",
        "{serial:d999}",
        "{colour:d2}",
        "{serial:d2}{serial:d2}",
        "{serial:n1-9n1-9n1-9n1-9}",
        "{serial:(a+)+}",
        "\u00e4{serial:d2}",
        "{serial:d2}\n",
    ],
)
def test_bad_patterns(pattern):
    """A pattern that cannot be meant is refused, with what was expected."""
    with pytest.raises(CodeError, match="label pattern: expected"):
        plain.compile_pattern(pattern)


def test_matching_ends():
    """The worst pattern allowed on the worst text: tries of a power of its length, not of two."""
    pattern = plain.compile_pattern("{serial:n1-60n1-60n1-60d1}")

    assert pattern.fields("A" * 181) == {}


def test_profile_looks_at_the_symbology():
    """A profile of one symbology does not claim another's text."""
    profile = plain.Profile("modules", plain.compile_pattern("{serial:d4}"), "Code 128")

    assert profile.read("1234", "Code 128") == profile.read("1234") == {"serial": "1234"}
    assert profile.read("1234", "QR") == {}
