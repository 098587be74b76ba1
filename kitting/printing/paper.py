"""A sheet of paper: its size, its margins, what stands small on every page. Black on white.

Written in reportlab's flow; the same content gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.utils.translation import get_language
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from inventory.labels import typeface
from kitting.printing.local import say

MM: Final = 72 / 25.4
"""Points in a millimetre."""
SIZES: Final = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216, ANSI/ASME Y14.1."""
MARGIN: Final = 12.0
"""mm at each side; printers leave up to 6 mm white (common practice, no source)."""
TOP, BOTTOM = 17.0, 16.0
"""mm above and below what flows; the small lines of each page stand there."""
EDGE: Final = 9
"""Points of the lines that every page bears."""
SMALL: Final = 7.5
"""Points of the record mark."""


@dataclass(frozen=True, slots=True)
class Running:
    """What stands small on every page."""

    title: str  # "Pick sheet J1042-1": head of every page
    beside: str  # day and van, at the right of the head
    mark: str  # the record mark, see mark_words

    def file_title(self) -> str:
        """As a reader of the file shows it."""
        return f"{self.title}, {self.beside}" if self.beside else self.title


def mark_words(mark: dict[str, int | str]) -> str:
    """The record mark as it is printed: how many entries the record has, and its SHA-256."""
    return say("Record mark {0}: {1}", mark["size"], mark["root"])


def width(size: str) -> float:
    """Points between the margins of a size of paper."""
    return (SIZES[size][0] - 2 * MARGIN) * MM


def height(size: str) -> float:
    """Points of a page that content may take."""
    return (SIZES[size][1] - TOP - BOTTOM) * MM


def written(parts: Sequence[Flowable], running: Running, size: str) -> bytes:
    """The parts as a PDF of as many pages as they need. size: one of SIZES."""
    wide, high = (side * MM for side in SIZES[size])
    stream = io.BytesIO()
    frame = Frame(
        MARGIN * MM,
        BOTTOM * MM,
        width(size),
        height(size),
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document = BaseDocTemplate(
        stream,
        pagesize=(wide, high),
        title=typeface.drawable(running.file_title()),
        pageTemplates=[PageTemplate(frames=[frame])],
        lang=get_language() or settings.LANGUAGE_CODE,
        invariant=1,
    )
    document.build(list(parts), canvasmaker=lambda *args, **kept: _Pages(running, *args, **kept))
    return stream.getvalue()


class _Pages(Canvas):  # type: ignore[misc]  # the library carries no types
    """Pages that know how many they are: each is kept until the last one is done."""

    def __init__(self, running: Running, *args: Any, **kept: Any) -> None:
        super().__init__(*args, **kept)
        self._running = running
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802  # the library's own name
        """Keep the page."""
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Put head and foot on every page, and write all."""
        for number, page in enumerate(self._kept, 1):
            self.__dict__.update(page)
            self._edge(say("Page {0} of {1}", number, len(self._kept)))
            super().showPage()
        super().save()

    def _edge(self, number: str) -> None:
        wide, high = self._pagesize
        left, right = MARGIN * MM, wide - MARGIN * MM
        plain, heavy = typeface.registered(), typeface.bold()
        top, foot = high - (TOP - 5) * MM, (BOTTOM - 7) * MM
        title = typeface.drawable(self._running.title)
        self.setFont(heavy, EDGE)
        self.drawString(left, top, title)
        self.drawRightString(right, foot, number)
        room = right - left - self.stringWidth(title, heavy, EDGE) - 4 * EDGE
        self.setFont(plain.fontName, EDGE)
        self.drawRightString(right, top, typeface.fitted(self._running.beside, EDGE, room))
        self.setLineWidth(0.6)
        self.line(left, top - 4, right, top - 4)
        self.line(left, foot + 11, right, foot + 11)
        mark, room = self._running.mark, right - left - 8 * EDGE
        self.setFont(plain.fontName, min(SMALL, room / plain.stringWidth(mark, 1)))
        self.drawString(left, foot, mark)


def first_of(size: str) -> str:
    """The size of paper that a text names. Raises ValueError."""
    for known in SIZES:
        if size.lower() == known.lower():
            return known
    raise ValueError(f"paper: expected {' or '.join(SIZES)}, got {size!r}")
