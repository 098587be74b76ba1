"""The one normal form of a serial, and the key that a phone looks up."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.codes import own, serials
from inventory.codes.errors import CodeError

VECTORS = json.loads((Path(__file__).parent / "lookup_vectors.json").read_text())


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ("SN-1", "SN-1"),
        (" SN-1\r\n", "SN-1"),  # suffix of a hand scanner
        ("SN-1\x1d", "SN-1"),  # separator left by a GS1 code
        ("AB 1234 5678", "AB12345678"),  # plates print groups, bar codes do not
        ("000123", "000123"),  # leading zeros are data
        ("sn/00-01a", "sn/00-01a"),  # case is data
    ],
)
def test_equal_serials_have_one_key(raw, expected):
    """Blanks and ends go; zeros, case and marks stay."""
    assert expected == serials.key(raw)


# The hostile serials of reliability.md section 9, row 13 (ours).
@pytest.mark.parametrize(
    ("raw", "kind", "meant"),
    [
        ("SN\u20111", "look_alike", ("SN-1",)),  # non-breaking hyphen
        ("SN\u20131", "look_alike", ("SN-1",)),  # en dash
        ("\u0410\u0412\u0421-1", "look_alike", ("ABC-1",)),  # Cyrillic
        ("\uff33\uff11", "look_alike", ("S1",)),  # full width
        ("SN1\u200b", "look_alike", ("SN1",)),  # invisible blank
        ("SN\u202e1", "look_alike", ("SN1",)),  # turns the writing round
        ("SN\x001", "illegal_character", ()),
        ("SN\x1d1", "illegal_character", ()),
        ("e\u0301", "illegal_character", ()),  # combining accent
        ("Stra\u00dfe", "illegal_character", ()),  # never folded to ss
        ("A" * 300, "too_long", ()),
        (" \t", "empty_value", ()),
    ],
)
def test_look_alikes_and_controls_are_refused(raw, kind, meant):
    """What only looks like a serial is a question, never that serial."""
    with pytest.raises(CodeError) as refusal:
        serials.key(raw)

    assert (kind, meant) == (refusal.value.kind, refusal.value.candidates)


@given(st.text())
def test_a_key_is_its_own_key(raw):
    """Taking the key twice changes nothing, whatever the text."""
    try:
        once = serials.key(raw)
    except CodeError:
        return
    assert once == serials.key(once)


@pytest.mark.parametrize("row", VECTORS["vectors"], ids=lambda row: repr(row["text"]))
def test_look_up_key_gives_the_shared_vectors(row):
    """Server and phone reduce a text to the same key (the phone's test reads the same file)."""
    assert row["key"] == serials.look_up_key(row["text"])


def test_lookup_vectors_use_real_labels():
    """Each vector that names one of our labels carries a right check character."""
    labels = [row["key"] for row in VECTORS["vectors"] if row["key"].startswith("LBU")]

    assert labels
    assert all(own.is_valid(label) for label in labels)
