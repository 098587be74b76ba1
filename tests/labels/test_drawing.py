"""A label is laid out in whole dots with its quiet zones white."""

from dataclasses import replace
from math import gcd

import pytest

from inventory.labels import typeface
from inventory.labels.drawing import RESOLUTIONS, Bar, Drawing, Print, draw
from inventory.labels.errors import LabelRefused
from inventory.labels.layouts import layouts
from tests.labels.some import BAG, EVERY, LONG, UNIT

PAPERS = [(layout, dpi) for layout in layouts().values() for dpi in RESOLUTIONS]
IDS = [f"{layout.name}-{dpi}" for layout, dpi in PAPERS]


def parted(drawing: Drawing) -> tuple[list[Bar], list[Bar]]:
    """The bars of the line code, which are as tall as one another, and those of the square one."""
    tall = max(bar.height for bar in drawing.bars) if drawing.linear else 0
    line = [bar for bar in drawing.bars if bar.height == tall]
    return line, [bar for bar in drawing.bars if bar.height != tall]


@pytest.mark.parametrize(("layout", "dpi"), PAPERS, ids=IDS)
def test_bars_are_whole_modules_within_the_limits(layout, dpi) -> None:
    """Every width is a multiple of its module in dots; a line's is 0.25 mm or more, a square's 1.5
    times that, bars of GS1-128 are 12.7 mm high and no others below 5 mm.

    Source: GS1 General Specifications, GS1-128 not in general distribution 0.250 to 0.495 mm and
    12.7 mm, ISO/IEC 15417 5 mm or 15 % of the width (all from memory); 2D beside linear 1.5 times.
    """
    pitch = 25.4 / dpi
    for label in EVERY:
        drawing = draw(label, dpi, layout)
        line, square = parted(drawing)

        assert gcd(*(bar.width for bar in square)) == drawing.square_module
        assert {bar.height for bar in square} == {drawing.square_module}
        assert 0.375 - 0.001 <= drawing.square_module * pitch <= 0.992
        if line:
            wide = max(b.x + b.width for b in line) - min(b.x for b in line)
            least = 12.7 if label.pairs else max(5.0, 0.15 * wide * pitch)

            assert gcd(*(bar.width for bar in line)) == drawing.line_module
            assert 0.25 - 0.001 <= drawing.line_module * pitch <= 0.512
            assert drawing.square_module >= 1.5 * drawing.line_module
            assert line[0].height * pitch >= least - pitch


@pytest.mark.parametrize(("layout", "dpi"), PAPERS, ids=IDS)
def test_quiet_zones_are_white(layout, dpi) -> None:
    """10 modules beside the line code, 2 or 4 round the square one, hold no other ink.

    Source: GS1 General Specifications 5.4.4.2; ISO/IEC 16022 and 18004 ask for 1 and 4.
    """
    for label in EVERY:
        drawing = draw(label, dpi, layout)
        line, square = parted(drawing)
        quiet = {"datamatrix": 2, "qr": 4}[label.matrix] * drawing.square_module
        below = min((b.y for b in line), default=drawing.prints[-1].base - drawing.prints[-1].size)
        right = max(p.x + width(p) for p in drawing.prints[:-1])

        if line:
            left, end = min(b.x for b in line), max(b.x + b.width for b in line)
            assert min(left, drawing.width - end) >= 10 * drawing.line_module
        assert max(b.y + b.height for b in square) + quiet <= below
        assert min(b.y for b in square) >= quiet
        assert drawing.width - max(b.x + b.width for b in square) >= quiet
        assert right <= min(b.x for b in square) - quiet
        assert max(p.base for p in drawing.prints[:-1]) < below


def width(line: Print) -> float:
    """Dots that a line of letters takes."""
    return float(typeface.registered().stringWidth(line.text, line.size))


def test_modules_are_as_large_as_there_is_room() -> None:
    """The same bag label: 0.25 mm lines on the small roll, 0.38 mm on the sheet, more at 100 mm."""
    found = {name: draw(BAG, 203, layouts()[name]).line_module for name in PAPER_NAMES}

    assert found == {"roll-50x25": 2, "a4-3x8": 3, "roll-100x50": 4}


LONG_BAG = replace(BAG, title="A: Bag 1: Wall plate and carrier", lines=("Parcel 1", "Van 1"))
PAPER_NAMES = ("roll-50x25", "a4-3x8", "roll-100x50")


def test_a_code_too_long_for_lines_keeps_the_square_one() -> None:
    """The line code is left out, and the drawing says so."""
    assert not draw(LONG).linear
    assert draw(UNIT).linear


def test_a_long_title_goes_on_in_a_second_line() -> None:
    """Two anchors that differ at the end of their names are told apart by a person, too, on any
    paper; only what two lines do not hold is cut."""
    for name in PAPER_NAMES:
        paper = layouts()[name]
        for label in (replace(UNIT, title="expansion anchor M10x100"), LONG_BAG):
            told = [line.text for line in draw(label, 203, paper).prints]
            assert " ".join(told[:2]).startswith(label.title), (name, told)
    cut = draw(replace(BAG, title=("MASS " * 12).strip()), 203, layouts()["roll-50x25"]).prints
    assert [line.text.endswith("…") for line in cut[:2]] == [False, True]


def test_a_drawing_has_the_size_of_the_label() -> None:
    """70 x 37 mm at 203 dots per inch."""
    drawing = draw(BAG, 203)

    assert (drawing.width, drawing.height) == (round(70 * 203 / 25.4), round(37 * 203 / 25.4))
    assert all(b.x >= 0 and b.x + b.width <= drawing.width for b in drawing.bars)


def test_other_resolutions_are_refused() -> None:
    """A module would fall between two dots."""
    with pytest.raises(LabelRefused, match="expected 203, 300, 600 dots per inch, got 96"):
        draw(BAG, 96)


def test_a_square_code_that_has_no_room_is_refused(monkeypatch) -> None:
    """Should an encoder one day need 80 modules a side, nothing is drawn over the edge."""
    monkeypatch.setattr("inventory.labels.matrix.modules", lambda label: ("1" * 80,) * 80)
    with pytest.raises(LabelRefused) as refusal:
        draw(LONG)

    assert "expected a datamatrix of at most 66 modules a side on A4 sheet" in str(refusal.value)
