"""What labels are printed on is a table; every row of it lies on its paper and has room."""

import pytest

from inventory.labels.errors import LabelRefused
from inventory.labels.layouts import layouts, named, usual

# Source: ISO 216 (A4), ANSI/ASME Y14.1 (Letter); PWG 5101.1 gives the names.
PAPERS = {"iso_a4_210x297mm": (210.0, 297.0), "na_letter_8.5x11in": (215.9, 279.4)}


def test_sheets_and_rolls_are_those_that_were_asked_for() -> None:
    """A4 and Letter with 3 x 8 labels, rolls of 50 x 25 and 100 x 50 mm."""
    found = {one.name: (one.columns, one.rows, one.width, one.height) for one in layouts().values()}

    assert (usual("A4"), usual("Letter")) == ("a4-3x8", "letter-3x8")
    assert found["a4-3x8"] == (3, 8, 70, 37)
    assert found["letter-3x8"][:2] == (3, 8)
    assert found["roll-50x25"] == (1, 1, 50, 25)
    assert found["roll-100x50"] == (1, 1, 100, 50)


def test_labels_lie_on_their_paper_and_not_on_each_other() -> None:
    """The last label ends on the page, steps are as long as a label, paper has its size."""
    for one in layouts().values():
        left, top = one.corner(one.per_page - 1)

        assert (one.page_width, one.page_height) == PAPERS.get(one.paper, (one.width, one.height))
        assert left + one.width <= one.page_width + 0.001, one.name
        assert top + one.height <= one.page_height + 0.001, one.name
        assert one.across >= one.width, one.name
        assert one.down >= one.height, one.name
        assert one.words.startswith(("A4 sheet", "Letter sheet", "Roll of labels"))


def test_an_unknown_layout_is_refused_with_those_there_are() -> None:
    """Whoever typed it reads what there is."""
    with pytest.raises(LabelRefused, match=r"expected one of a4-3x8, .*, got 'b5'"):
        named("b5")
