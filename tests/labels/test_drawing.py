"""A label is laid out in whole dots with its quiet zones white."""

from math import gcd

import pytest

from inventory.labels import linear, matrix
from inventory.labels.drawing import HEIGHT, RESOLUTIONS, WIDTH, dots, draw
from inventory.labels.errors import LabelRefused
from tests.labels.some import BAG, EVERY, LONG, QR, UNIT


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("label", EVERY, ids=lambda label: label.human)
def test_bars_are_whole_modules(label, dpi) -> None:
    """Every width of the line code is a multiple of its module in dots."""
    drawing = draw(label, dpi)
    top = dots(17.5, dpi)
    line = [bar.width for bar in drawing.bars if bar.y > top]
    square = [bar.width for bar in drawing.bars if bar.y <= top]

    assert not line or gcd(*line) == RESOLUTIONS[dpi][0]
    assert gcd(*square) == RESOLUTIONS[dpi][1]


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("label", [BAG, UNIT, QR], ids=lambda label: label.human)
def test_quiet_zones_are_white(label, dpi) -> None:
    """10 modules beside the line code, 2 or 4 round the square one, hold no other dark dot.

    Source: GS1 General Specifications 5.4.4.2; ISO/IEC 16022 and 18004 ask for 1 and 4.
    """
    drawing = draw(label, dpi)
    line_module, square_module = RESOLUTIONS[dpi]
    top = dots(17.5, dpi)
    line = [bar for bar in drawing.bars if bar.y > top]
    square = [bar for bar in drawing.bars if bar.y <= top]
    left, right = min(b.x for b in line), max(b.x + b.width for b in line)
    quiet = matrix.QUIET[label.matrix] * square_module

    assert min(left, drawing.width - right) >= linear.QUIET * line_module
    assert max(b.y + b.height for b in square) + quiet <= min(b.y for b in line)
    assert min(b.y for b in square) >= quiet
    assert drawing.width - max(b.x + b.width for b in square) >= quiet
    assert max(p.base for p in drawing.prints[:-1]) < min(b.y for b in line)


@pytest.mark.parametrize("dpi", RESOLUTIONS)
def test_the_line_module_is_a_quarter_millimetre(dpi) -> None:
    """0.25 mm, the least of GS1-128 that is not for general distribution (from memory)."""
    assert RESOLUTIONS[dpi][0] * 25.4 / dpi == pytest.approx(0.25, abs=0.005)
    assert RESOLUTIONS[dpi][1] >= 1.5 * RESOLUTIONS[dpi][0]


def test_a_code_too_long_for_lines_keeps_the_square_one() -> None:
    """The line code is left out, and the drawing says so."""
    assert not draw(LONG).linear
    assert draw(UNIT).linear


def test_a_drawing_has_the_size_of_the_label() -> None:
    """70 x 37 mm at 203 dots per inch."""
    drawing = draw(BAG, 203)

    assert (drawing.width, drawing.height) == (dots(WIDTH, 203), dots(HEIGHT, 203))
    assert all(b.x >= 0 and b.x + b.width <= drawing.width for b in drawing.bars)


def test_other_resolutions_are_refused() -> None:
    """A module would fall between two dots."""
    with pytest.raises(LabelRefused, match="expected 203 or 300 dots per inch, got 96"):
        draw(BAG, 96)


def test_a_square_code_that_has_no_room_is_refused(monkeypatch) -> None:
    """Should an encoder one day need 80 modules a side, nothing is drawn over the edge."""
    monkeypatch.setattr("inventory.labels.matrix.modules", lambda label: ("1" * 80,) * 80)
    with pytest.raises(LabelRefused) as refusal:
        draw(LONG)

    assert "expected a datamatrix of at most 70 modules a side, got 80" in str(refusal.value)
