"""What printed sheets are made of: words that wrap, codes, boxes to tick and to fill, tables.

Letters are as large as an arm's length asks: 12 points for what is read while working, 9 for the
rest (common practice, no source). Tables break between rows, never inside one.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any, Final, TypeAlias
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    Paragraph,
    Spacer,
    Table,
)

from inventory.labels import symbol, typeface
from kitting.printing.local import say

DOT: Final = 72 / 600
"""Points of one dot of an office printer; 300 and 1200 dots an inch share its grid."""
MODULE: Final = 10 * DOT
"""Points of one cell of a code: 0.42 mm, whole dots."""
TICK: Final = 20.0
"""Points a side of a box to tick with a thick pen: 7 mm."""
SIZES: Final = {"huge": 20, "title": 15, "count": 15, "item": 12, "text": 10, "small": 9}
"""Points of letters by what they are."""
Cell: TypeAlias = Flowable | list[Flowable] | str


@cache
def style(name: str, *, heavy: bool = False, right: bool = False) -> ParagraphStyle:
    """A style of SIZES."""
    size = SIZES[name]
    font = typeface.bold() if heavy else typeface.registered().fontName
    return ParagraphStyle(
        f"{name}{heavy}{right}",
        fontName=font,
        fontSize=size,
        leading=size * 1.22,
        alignment=2 if right else 0,
        splitLongWords=1,
    )


def words(text: str, name: str = "text", *, heavy: bool = False, right: bool = False) -> Paragraph:
    """Words that wrap, long ones broken; what the typeface cannot draw is printed as "?"."""
    return Paragraph(escape(typeface.drawable(text)), style(name, heavy=heavy, right=right))


def runs(*pieces: tuple[str, bool], name: str = "text") -> Paragraph:
    """Words on one line, each piece heavy or not."""
    marked = [
        f'<font name="{typeface.bold()}">{escape(typeface.drawable(text))}</font>'
        if heavy
        else escape(typeface.drawable(text))
        for text, heavy in pieces
    ]
    return Paragraph(" ".join(marked), style(name))


def gap(points: float = 8) -> Spacer:
    """White between parts."""
    return Spacer(1, points)


def room(points: float) -> CondPageBreak:
    """What follows begins a page where less than this is left."""
    return CondPageBreak(points)


class Code(Flowable):  # type: ignore[misc]  # the library carries no types
    """A scannable code in whole dots, with its quiet zone; read back before it is offered."""

    def __init__(self, kind: str, text: str) -> None:
        """kind, text: see labels.symbol. Raises LabelRefused or LabelUnreadable."""
        super().__init__()
        self._symbol = symbol.symbol(kind, text)
        self.width = self.height = self._symbol.side * MODULE

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it from its lower left corner, moved to the next whole dot."""
        x, y = self.canv.absolutePosition(0, 0)
        self.canv.translate(round(x / DOT) * DOT - x, round(y / DOT) * DOT - y)
        self.canv.scale(MODULE, MODULE)
        self.canv.setFillColor(black)
        self.canv.addLiteral(_bars(self._symbol))


@lru_cache(maxsize=512)
def _bars(drawn: symbol.Symbol) -> str:
    """The dark of a code as a path of PDF, in modules from its lower left corner, and its filling.

    Written once for each code: a sheet has a hundred, and the library takes most of its time to
    write numbers.
    """
    found = []
    for down, row in enumerate(drawn.rows, symbol.QUIET + 1):
        at = symbol.QUIET
        # Bars next to each other are one: a seam shows as a white hair on some printers.
        for piece in row.replace("10", "1 0").replace("01", "0 1").split():
            if piece[0] == "1":
                found.append(f"{at} {drawn.side - down} {len(piece)} 1 re")
            at += len(piece)
    return "\n".join([*found, "f"])


class Tick(Flowable):  # type: ignore[misc]
    """An empty box to tick."""

    def __init__(self, side: float = TICK) -> None:
        super().__init__()
        self.width = self.height = side

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw its outline."""
        self.canv.setLineWidth(1.4)
        self.canv.rect(0.7, 0.7, self.width - 1.4, self.height - 1.4, stroke=1, fill=0)


class Blank(Flowable):  # type: ignore[misc]
    """A line to write on."""

    def __init__(self, width: float, height: float = 18) -> None:
        super().__init__()
        self.width, self.height = width, height

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the line at its foot."""
        self.canv.setLineWidth(0.8)
        self.canv.line(0, 2, self.width, 2)


def heading(text: str, more: str = "") -> list[Flowable]:
    """The title of a section; `more` says under it what the section is."""
    found: list[Flowable] = [gap(6), words(text, "title", heavy=True)]
    if more:
        found.append(words(more))
    return [*found, gap(3)]


def facts(rows: Sequence[tuple[str, str]], wide: float) -> Table:
    """Names with their values, two to a line. wide: points."""
    cells = [runs((f"{name}:", False), (value or "-", True), name="item") for name, value in rows]
    if len(cells) % 2:
        cells.append(words(""))
    pairs = [cells[n : n + 2] for n in range(0, len(cells), 2)]
    return Table(
        pairs, colWidths=[wide / 2] * 2, style=[*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "TOP")]
    )


_TIGHT: Final[list[tuple[Any, ...]]] = [
    ("LEFTPADDING", (0, 0), (-1, -1), 3),
    ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
]


def table(head: Sequence[str], rows: Sequence[Sequence[Cell]], widths: Sequence[float]) -> Table:
    """Rows under a head that stands again on every page. widths: points of each column."""
    top = [words(name, "small", heavy=True) for name in head]
    return Table(
        [top, *rows],
        colWidths=list(widths),
        repeatRows=1,
        splitInRow=0,
        style=[
            *_TIGHT,
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LINEBELOW", (0, 0), (-1, 0), 1.4, black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.5, black),
        ],
    )


def grid(rows: Sequence[Sequence[Cell]], wide: float) -> Table:
    """Equal columns without a head. wide: points."""
    columns = len(rows[0])
    return Table(
        [list(row) for row in rows],
        colWidths=[wide / columns] * columns,
        splitInRow=0,
        style=[*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "MIDDLE")],
    )


def beside(left: Flowable, right: Sequence[Flowable], wide: float) -> Table:
    """Something narrow with words at its right. wide: points of both."""
    return Table(
        [[left, list(right)]],
        colWidths=[left.width + 6, wide - left.width - 6],
        style=[*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "MIDDLE")],
    )


def boxed(content: Sequence[Flowable], wide: float, *, thick: float = 1.6) -> Table:
    """Content in a frame, broken between its parts where a page is too short. wide: points."""
    return Table(
        [[part] for part in content],
        colWidths=[wide],
        splitInRow=0,
        style=[
            *_TIGHT,
            ("BOX", (0, 0), (-1, -1), thick, black),
            ("LEFTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 1), (-1, -1), 0),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 5),
        ],
    )


def spaced(content: Table, points: float = 3) -> Table:
    """A table with white above and below."""
    content.spaceBefore = content.spaceAfter = points
    return content


def together(*content: Flowable) -> KeepTogether:
    """Content that stays on one page where one page can hold it."""
    return KeepTogether(list(content))


def signatures(rows: Sequence[str], wide: float) -> Table:
    """A line for each: what it says, name, date, signature. wide: points."""
    widths = [wide * share for share in (0.34, 0.24, 0.16, 0.26)]
    lines = [
        [words(said, "text"), *(Blank(column - 8, 30) for column in widths[1:])] for said in rows
    ]
    return table(("", say("Name"), say("Date"), say("Signature")), lines, widths)


def written_facts(rows: Sequence[tuple[str, str]], wide: float) -> Table:
    """Names with their values, or a line to write on, two to a row. wide: points."""
    cells: list[Cell] = []
    for name, value in rows:
        cells += [words(f"{name}:"), words(value, heavy=True) if value else Blank(wide / 4 - 8)]
    cells += [""] * (-len(cells) % 4)
    grid_ = [cells[n : n + 4] for n in range(0, len(cells), 4)]
    style_ = [*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM")]
    return Table(grid_, colWidths=[wide / 4] * 4, splitInRow=0, style=style_)


def beside_unit(wide: float, unit: str) -> Flowable:
    """A line to write a reading on, with its unit behind. wide: points of both."""
    if not unit:
        return Blank(wide)
    share = 0.48
    style_ = [*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM"), ("LEFTPADDING", (0, 0), (0, 0), 0)]
    cells = [[Blank(wide * share - 6), words(unit, "small")]]
    return Table(cells, colWidths=[wide * share, wide * (1 - share)], style=style_)
