"""Character sets."""

from inventory.codes import characters


def test_sizes_of_the_sets():
    """The sets have the sizes of their names; set 64 has its padding sign besides."""
    assert len(characters.CSET82) == 82
    assert len(characters.CSET39) == 39
    assert len(characters.CSET64) == 65


def test_only_ascii_digits_are_digits():
    """Digits of other scripts and superscripts are none."""
    assert characters.is_digits("0123456789")
    assert not any(map(characters.is_digits, ["", "\u0661", "\u00b2", "1a"]))


def test_first_outside():
    """The first strange character is named."""
    assert characters.first_outside("AB \x00", characters.CSET82) == " "
    assert characters.first_outside("AB", characters.CSET82) == ""
