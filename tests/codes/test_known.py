"""What the catalogue knows."""

import random

import pytest

from inventory.codes import known
from inventory.codes.known import neighbours

CATALOGUE = known.listed(["9520123456788", "SN-0001", "LB-000123", "AB 12"])


@pytest.mark.parametrize(
    "text", ["9520123456788", "09520123456788", "SN-0001", " SN-0001", "AB12", "A B12"]
)
def test_exact_matches(text):
    """A text counts in its normal form: article numbers as 14 digits, blanks apart."""
    assert CATALOGUE.names(text)


@pytest.mark.parametrize(
    "text",
    [
        "9520123456789",
        "SN-000l",
        "SN-O001",
        "sn-0001",
        "SN-0002",
        "SN-00011",
        "SN-0001\r",
        "",
        "AB\u200b12",
    ],
)
def test_near_is_not_known(text):
    """Nearness never counts."""
    assert not CATALOGUE.names(text)


@pytest.mark.parametrize(
    "text", ["SN-OOO1", "SN-000I", "sn-0001", "SN-001", "SN-00001", "SN-0010", "SN-0002"]
)
def test_near_misses_are_found(text):
    """Letters for digits, case, one character lost, added, replaced, or a swap."""
    assert CATALOGUE.near(text) == ("SN-0001",)


def test_far_texts_are_not_near():
    """Two slips are no near miss; a known text is not near itself."""
    assert CATALOGUE.near("SN-0023") == ()
    assert CATALOGUE.near("SN-0001") == ()


def test_nothing_knows_nothing():
    """The empty catalogue names no text, not even the empty one."""
    assert not known.NOTHING.names("")
    assert not known.NOTHING.names("09520123456788")


def test_neighbours_are_all_that_one_slip_makes():
    """Each text that a slip makes of one finds it among its neighbours, and no neighbour is far."""
    rng = random.Random(4)
    for _ in range(200):
        text = "".join(rng.choice("0123456789ABCDEFOQILSZ-") for _ in range(rng.randrange(4, 12)))
        at = rng.randrange(len(text) - 1)
        slips = {
            text[:at] + text[at + 1 :],
            text[:at] + "7" + text[at:],
            text[:at] + "X" + text[at + 1 :],
            text[:at] + text[at + 1] + text[at] + text[at + 2 :],
            text.replace("0", "O"),
            text.lower(),
        } - {text}
        for slip in slips:
            assert text in neighbours(slip), (text, slip)
        assert text not in neighbours(text)
    assert "XYZ9" not in neighbours("ABC1")
