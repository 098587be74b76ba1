"""A printed sheet read back by programs that did not write it: PDFium for the words, the drawing
and the picture, zxing for the codes."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pypdfium2
import zxingcpp

DPI = 200  # coarser than any office printer
LARGE = 9  # points of a large figure's own height
BASE = {"": 1, "m": 1000, "ml": 1000, "m²": 1_000_000}  # base units in what people say


@dataclass(frozen=True, slots=True)
class Word:
    """Letters that stand together on one line; points from the page's lower left corner."""

    text: str
    left: float
    low: float
    right: float
    high: float

    @property
    def middle(self) -> float:
        """Height of its middle."""
        return (self.low + self.high) / 2


class Sheet:
    """Pages with their words."""

    def __init__(self, file: bytes) -> None:
        self.document = pypdfium2.PdfDocument(file)
        self.pages = [_words(page) for page in self.document]

    @property
    def sizes(self) -> set[tuple[float, float]]:
        """Width and height of the pages, mm, to a tenth."""
        return {(round(w / 72 * 25.4, 1), round(h / 72 * 25.4, 1)) for w, h in self._sizes()}

    def _sizes(self) -> list[tuple[float, float]]:
        return [page.get_size() for page in self.document]

    @property
    def text(self) -> str:
        """Everything in the order in which it is printed, lines joined by one blank."""
        return " ".join(word.text for page in self.pages for word in page)

    def outside(self, margin: float) -> list[str]:
        """Words that come nearer to an edge than so many points, or lie beyond it."""
        return [
            word.text
            for (wide, high), page in zip(self._sizes(), self.pages, strict=True)
            for word in page
            if word.left < margin
            or word.right > wide - margin
            or word.low < margin
            or word.high > high - margin
        ]

    def rows(self, codes: set[str], head: str = "How many") -> list[tuple[str, int, str]]:
        """(code, base units, bag or other last column) of each row that names one of the codes."""
        found = []
        for page in self.pages:
            column = 0.0
            for word in page:
                if word.text == head:
                    column = word.left
                if word.text in codes:
                    found.append((word.text, _base(page, word, column), _into(page, word)))
        return found

    def codes(self) -> list[str]:
        """What a decoder reads on all pages, printed and looked at."""
        found = []
        for page in self.document:
            picture = page.render(scale=DPI / 72).to_pil().convert("L")
            found += [one.text for one in zxingcpp.read_barcodes(picture)]
        return found

    def outlines(self, page: int) -> list[tuple[float, float]]:
        """Width and height in points of each path of a page, with its line around."""
        paths = self.document[page].get_objects(filter=[2])  # FPDF_PAGEOBJ_PATH
        sides = [path.get_bounds() for path in paths]
        return [(right - left, top - low) for left, low, right, top in sides]


def _words(page: pypdfium2.PdfPage) -> list[Word]:
    text = page.get_textpage()
    boxes = [text.get_rect(n) for n in range(text.count_rects())]
    return [Word(text.get_text_bounded(*box).strip(), *box) for box in boxes]


def _base(page: list[Word], row: Word, column: float) -> int:
    """The quantity of a row: the large figure nearest to its height in that column."""
    figures = [w for w in page if abs(w.left - column) < 3 and re.match(r"[0-9]", w.text)]
    figures = [w for w in figures if w.high - w.low > LARGE]
    said = min(figures, key=lambda word: abs(word.middle - row.middle)).text
    number, _, unit = said.replace(",", "").partition(" ")
    return round(float(number) * BASE[unit])


def _into(page: list[Word], row: Word) -> str:
    """What stands right of the item on its row: its bag, where the sheet has that column."""
    beside = [w for w in page if w.left > row.left + 40 and abs(w.middle - row.middle) < 15]
    named = [w.text for w in beside if w.text.startswith(("Bag", "the bay", "stays"))]
    return named[0] if named else ""
