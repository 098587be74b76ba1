"""Print is drawn with one typeface file, and says where it has no letter."""

from inventory.labels import typeface


def test_letters_of_western_europe_are_drawn() -> None:
    """Whichever file is found, these letters are in it."""
    assert typeface.drawable("Größe Ñandú") == "Größe Ñandú"


def test_what_the_typeface_lacks_is_a_question_mark() -> None:
    """A private-use character is in no typeface; it must not come out as an empty box."""
    assert typeface.drawable("a\ue123b") == "a?b"


def test_too_wide_a_line_ends_with_an_ellipsis() -> None:
    """The cut line fits, and shows that it was cut."""
    cut = typeface.fitted("a very long name of a place", 10, 60)

    assert cut.endswith("…")
    assert typeface.registered().stringWidth(cut, 10) <= 60


def test_a_code_shrinks_and_is_never_cut() -> None:
    """The height falls until the whole text fits."""
    text = "(01)09521234543213(21)" + "W" * 20
    size = typeface.size_fitting(text, 21, 300)

    assert 0 < size < 21
    assert typeface.registered().stringWidth(text, size) <= 300
