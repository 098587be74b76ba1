"""A label laid out in whole printer dots: the one drawing that paper and picture share.

The label is 70 x 37 mm, 24 to an A4 sheet. Above: print at the left, the square code at the
right; below: the line code and what it says. A module is a whole number of dots, because a bar
that falls between two dots comes out one dot too wide or too narrow.
"""

from dataclasses import dataclass

from inventory.labels import linear, matrix, typeface
from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label

WIDTH, HEIGHT = 70.0, 37.0  # mm
MARGIN = 4.0  # mm without ink on each edge; holds the outer quiet zones too
BARS_TOP, BARS_BOTTOM = 18.6, 29.4  # mm from the top edge: the line code
SQUARE_BOTTOM = 17.0  # mm from the top edge: the square code ends above, quiet zone below it
TITLE, PRINT = 3.6, 2.6  # mm, body height of the letters

# Dots per inch -> dots per module of the (line, square) code. The line's module is 0.25 mm;
# the square's is 1.5 times that or the next whole dot above.
# Source: GS1 General Specifications, 2D symbol beside a linear one.
RESOLUTIONS = {203: (2, 3), 300: (3, 5)}


@dataclass(frozen=True, slots=True)
class Bar:
    """A dark rectangle. All in dots from the label's top left corner."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Print:
    """A line of letters. All in dots from the label's top left corner."""

    x: int
    base: int  # the line the letters stand on
    size: int  # body height
    text: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """One label in dots."""

    label: Label
    dpi: int  # dots per inch
    width: int  # dots
    height: int  # dots
    bars: tuple[Bar, ...]
    prints: tuple[Print, ...]
    linear: bool  # False: the line code would be wider than the label and was left out


def dots(mm: float, dpi: int) -> int:
    """Millimetres as the nearest whole dots."""
    return round(mm * dpi / 25.4)


def draw(label: Label, dpi: int = 203) -> Drawing:
    """Lay the label out for a printer of 203 or 300 dots per inch. Raises LabelRefused."""
    if dpi not in RESOLUTIONS:
        raise LabelRefused(f"{label.name}: expected 203 or 300 dots per inch, got {dpi}")
    line = _line(label, dpi)
    square, left = _square(label, dpi, bool(line))
    return Drawing(
        label=label,
        dpi=dpi,
        width=dots(WIDTH, dpi),
        height=dots(HEIGHT, dpi),
        bars=line + square,
        prints=_prints(label, dpi, left),
        linear=bool(line),
    )


def _line(label: Label, dpi: int) -> tuple[Bar, ...]:
    """The line code, centred; empty where it is wider than the label allows."""
    module = RESOLUTIONS[dpi][0]
    code = linear.modules(label)
    width = len(code) * module
    edge = max(dots(MARGIN, dpi), linear.QUIET * module)
    if width > dots(WIDTH, dpi) - 2 * edge:
        return ()
    start = (dots(WIDTH, dpi) - width) // 2
    top, bottom = dots(BARS_TOP, dpi), dots(BARS_BOTTOM, dpi)
    return tuple(
        Bar(start + x * module, top, length * module, bottom - top) for x, length in _runs(code)
    )


def _square(label: Label, dpi: int, line: bool) -> tuple[tuple[Bar, ...], int]:
    """The square code in the top right corner, and the dot where its quiet zone begins."""
    module = RESOLUTIONS[dpi][1]
    rows = matrix.modules(label)
    side = len(rows) * module
    top = dots(MARGIN, dpi)
    bottom = dots(SQUARE_BOTTOM if line else HEIGHT - MARGIN - PRINT, dpi)
    if side > bottom - top:
        room = (bottom - top) // module
        raise LabelRefused(
            f"{label.name}: expected a {label.matrix} of at most {room} modules a side, "
            f"got {len(rows)}"
        )
    x0 = dots(WIDTH, dpi) - dots(MARGIN, dpi) - side
    bars = tuple(
        Bar(x0 + x * module, top + y * module, length * module, module)
        for y, row in enumerate(rows)
        for x, length in _runs(row)
    )
    return bars, x0 - matrix.QUIET[label.matrix] * module


def _prints(label: Label, dpi: int, right: int) -> tuple[Print, ...]:
    """Title and lines left of dot `right`, and along the bottom what the codes carry."""
    x, y = dots(MARGIN, dpi), dots(MARGIN, dpi)
    found = []
    for text, mm in [(label.title, TITLE), *((line, PRINT) for line in label.lines)]:
        size = dots(mm, dpi)
        found.append(Print(x, y + round(size * 0.8), size, typeface.fitted(text, size, right - x)))
        y += round(size * 1.25)
    # Never cut: it is what a hand types when no reader gets the codes.
    size = typeface.size_fitting(label.human, dots(PRINT, dpi), dots(WIDTH, dpi) - 2 * x)
    base = dots(HEIGHT - MARGIN, dpi) - round(dots(PRINT, dpi) * 0.2)
    found.append(Print(x, base, size, typeface.drawable(label.human)))
    return tuple(found)


def _runs(code: str) -> list[tuple[int, int]]:
    """The dark runs of a row: (first module, number of modules)."""
    runs, start = [], 0
    for piece in code.replace("10", "1 0").replace("01", "0 1").split():
        if piece[0] == "1":
            runs.append((start, len(piece)))
        start += len(piece)
    return runs
