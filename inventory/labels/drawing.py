"""A label laid out in whole printer dots: the one drawing that paper and picture share.

Above: print at the left, the square code at the right; below: the line code and what it says. A
module is a whole number of dots, because a bar that falls between two dots comes out one dot too
wide or too narrow. Modules are as large as the label has room for, and never below what the
standards allow: where the line code does not fit so, the square one stands alone and larger; where
that does not fit either, the label is refused.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import ceil
from typing import Final

from inventory.labels import layouts, linear, matrix, typeface
from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label
from inventory.labels.layouts import Layout

RESOLUTIONS: Final = (203, 300, 600)
"""Dots per inch: label printers and office printers."""
LINE_MODULE: Final = (0.25, 0.51)
"""Least and largest module of a line code, mm. Source: GS1 General Specifications, GS1-128 not
scanned in general distribution, 0.250 to 0.495 (from memory), and the next whole dot above."""
SQUARE_MODULE: Final = (0.375, 0.99)
"""Least and largest module of a square code, mm. Source: 1.5 times the line's, GS1 General
Specifications, 2D symbol beside a linear one; GS1 DataMatrix at most 0.990."""
SQUARE_TO_LINE: Final = 1.5
GS1_HEIGHT: Final = 12.7
"""mm, bars of GS1-128. Source: GS1 General Specifications, same table (from memory)."""
LEAST_HEIGHT, LEAST_SHARE = 5.0, 0.15
"""mm, and share of the width: bars of Code 128. Source: ISO/IEC 15417 (from memory)."""
BARS_SHARE: Final = 0.29
"""of the label's height where the standards ask for less."""
ASTRAY: Final = 1.0
"""mm by which a printer may set a label off its place; the quiet zone is white beyond it."""
TOLERANCE: Final = 0.002
"""mm by which a module of whole dots may miss its limit: 2 dots of 203 a inch are 0.2502."""
SQUARE_SHARE: Final = 0.45
"""of the label's width that the square code may take; the rest is print."""
LINE_HEIGHT: Final = 1.25
"""Of a line of letters, by its body height."""
SMALL: Final = 0.8
"""Of their height that letters keep at least where a title takes a second line."""


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
    layout: Layout
    dpi: int  # dots per inch
    width: int  # dots
    height: int  # dots
    bars: tuple[Bar, ...]
    prints: tuple[Print, ...]
    line_module: int  # dots; 0: the line code would not fit and was left out
    square_module: int  # dots

    @property
    def linear(self) -> bool:
        """Whether it bears a line code beside the square one."""
        return self.line_module > 0


def dots(mm: float, dpi: int) -> int:
    """Millimetres as the nearest whole dots."""
    return round(mm * dpi / 25.4)


@cache
def steps(limits: tuple[float, float], dpi: int) -> tuple[int, ...]:
    """Dots that a module may have within limits of mm, largest first."""
    least, most = limits
    pitch = 25.4 / dpi
    first = ceil((least - TOLERANCE) / pitch)
    return tuple(range(max(first, int((most + TOLERANCE) / pitch)), first - 1, -1))


def draw(label: Label, dpi: int = 203, layout: Layout | None = None) -> Drawing:
    """Lay the label out for a printer; a layout of None is the first. Raises LabelRefused."""
    if dpi not in RESOLUTIONS:
        known = ", ".join(map(str, RESOLUTIONS))
        raise LabelRefused(f"{label.name}: expected {known} dots per inch, got {dpi}")
    plan = _Plan(label, layout or layouts.named(layouts.FIRST), dpi)
    for line, square in plan.choices():
        if plan.fits(line, square):
            return plan.drawn(line, square)
    raise plan.refusal()


class _Plan:
    """A label with its codes, to be tried at several sizes of module; lengths in dots."""

    def __init__(self, label: Label, layout: Layout, dpi: int) -> None:
        self.label, self.layout, self.dpi = label, layout, dpi
        self.code, self.rows = linear.modules(label), matrix.modules(label)
        self.quiet = matrix.QUIET[label.matrix]
        self.width, self.height = self._dots(layout.width), self._dots(layout.height)
        self.margin, self.size = self._dots(layout.margin), self._dots(layout.print)
        # What the codes carry is printed along the bottom, the bars stand on it.
        self.bars_bottom = self.height - self.margin - round(self.size * LINE_HEIGHT)

    def _dots(self, mm: float) -> int:
        return dots(mm, self.dpi)

    def choices(self) -> Iterator[tuple[int, int]]:
        """Modules of (line, square) code in dots, those that read best first."""
        squares = steps(SQUARE_MODULE, self.dpi)
        for line in steps(LINE_MODULE, self.dpi):
            yield line, max(ceil(line * SQUARE_TO_LINE), squares[-1])
        for square in squares:
            yield 0, square

    def fits(self, line: int, square: int) -> bool:
        """Whether both codes, their quiet zones and the print have room."""
        side = len(self.rows) * square
        if side > self._high(line, square) or side > self.width * SQUARE_SHARE:
            return False
        edge = max(self.margin, linear.QUIET * line + self._dots(ASTRAY))
        return not line or len(self.code) * line <= self.width - 2 * edge

    def _bars_top(self, line: int) -> int:
        """Where the line code begins; without one where the print along the bottom does."""
        if not line:
            return self.bars_bottom
        wide = len(self.code) * line
        least = max(self._dots(LEAST_HEIGHT), ceil(wide * LEAST_SHARE))
        least = max(least, round(self.height * BARS_SHARE))
        return self.bars_bottom - max(least, self._dots(GS1_HEIGHT) if self.label.pairs else 0)

    def _edge(self, square: int) -> int:
        """White that the square code keeps to the label's edges."""
        return max(self.margin, self.quiet * square)

    def _high(self, line: int, square: int) -> int:
        """Room for the square code from above to below."""
        return self._bars_top(line) - self.quiet * square - self._edge(square)

    def drawn(self, line: int, square: int) -> Drawing:
        """The label at these modules, which fit."""
        left = self.width - self._edge(square) - len(self.rows) * square
        prints = self._prints(left - self.quiet * square, self._bars_top(line))
        return Drawing(
            label=self.label,
            layout=self.layout,
            dpi=self.dpi,
            width=self.width,
            height=self.height,
            bars=self._line(line) + self._square(square, left),
            prints=prints,
            line_module=line,
            square_module=square,
        )

    def _line(self, module: int) -> tuple[Bar, ...]:
        """The line code, centred; empty without one."""
        if not module:
            return ()
        start = (self.width - len(self.code) * module) // 2
        top = self._bars_top(module)
        return tuple(
            Bar(start + x * module, top, length * module, self.bars_bottom - top)
            for x, length in _runs(self.code)
        )

    def _square(self, module: int, left: int) -> tuple[Bar, ...]:
        """The square code, in the top right corner."""
        top = self._edge(module)
        return tuple(
            Bar(left + x * module, top + y * module, length * module, module)
            for y, row in enumerate(self.rows)
            for x, length in _runs(row)
        )

    def _prints(self, right: int, bottom: int) -> tuple[Print, ...]:
        """Title and lines in the corner above `bottom` and left of `right`; the code's own text."""
        x, y = self.margin, self.margin
        wanted, small = self._wanted([self.label.title], bottom - y)
        title = typeface.in_two(self.label.title, self._dots(self.layout.title), right - x)
        in_two, smaller = self._wanted(title, bottom - y)
        if smaller >= min(
            small, SMALL
        ):  # a title whole in two lines says more than one that is cut
            wanted, small = in_two, smaller
        found = []
        for text, mm in wanted:
            size = max(1, int(self._dots(mm) * small))
            cut = typeface.fitted(text, size, right - x)
            found.append(Print(x, y + round(size * 0.8), size, cut))
            y += int(size * LINE_HEIGHT)
        # Never cut: it is what a hand types when no reader gets the codes.
        size = typeface.size_fitting(self.label.human, self.size, self.width - 2 * x)
        base = self.height - self.margin - round(self.size * 0.2)
        found.append(Print(x, base, size, typeface.drawable(self.label.human)))
        return tuple(found)

    def _wanted(self, title: list[str], room: int) -> tuple[list[tuple[str, float]], float]:
        """Each line with its height in mm, and by how much letters shrink to have room: before a
        line is left out."""
        lines = [(line, self.layout.print) for line in self.label.lines]
        wanted = [*((line, self.layout.title) for line in title), *lines]
        tall = sum(self._dots(mm) * LINE_HEIGHT for _, mm in wanted)
        return wanted, min(1.0, room / tall)

    def refusal(self) -> LabelRefused:
        """What would have had room, and what came."""
        square = steps(SQUARE_MODULE, self.dpi)[-1]
        room = int(min(self._high(0, square), self.width * SQUARE_SHARE)) // square
        return LabelRefused(
            f"{self.label.name}: expected a {self.label.matrix} of at most {room} modules a side "
            f"on {self.layout.words}, got {len(self.rows)}"
        )


def _runs(code: str) -> list[tuple[int, int]]:
    """The dark runs of a row: (first module, number of modules)."""
    runs, start = [], 0
    for piece in code.replace("10", "1 0").replace("01", "0 1").split():
        if piece[0] == "1":
            runs.append((start, len(piece)))
        start += len(piece)
    return runs
