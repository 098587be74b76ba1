"""The typeface of the print: the same file for paper (reportlab) and picture (Pillow).

Found on the machine where there is one with many scripts; otherwise the one that the pinned
reportlab carries with its licence (Bitstream Vera: free to embed), which covers English, German,
Spanish and what else is Western European. Characters it lacks are printed as "?", never as a box.
"""

from functools import cache
from pathlib import Path

import reportlab
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

NAME = "LastboltPrint"
BOLD = "LastboltBold"
_INSTEAD = {"\u202f": "\u00a0"}  # between digits in threes: old faces have no narrow blank

# Debian's folders; other systems fall through to the last one, which is always there.
CANDIDATES = (
    Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"),
    Path("/usr/share/fonts/truetype/liberation/LiberationSans-Regular.ttf"),
    Path("/usr/share/fonts/truetype/noto/NotoSans-Regular.ttf"),
    Path(reportlab.__file__).parent / "fonts" / "Vera.ttf",
)


@cache
def file() -> Path:
    """The typeface file in use."""
    return next(path for path in CANDIDATES if path.is_file())


@cache
def registered() -> TTFont:
    """The typeface as reportlab knows it; embedded in the PDF, so any viewer shows it alike."""
    font = TTFont(NAME, str(file()))
    pdfmetrics.registerFont(font)
    return font


@cache
def bold() -> str:
    """The name of the heavier cut as reportlab knows it; the plain one where there is none."""
    plain = file()
    for ending in ("-Bold.ttf", "Bd.ttf"):
        heavy = plain.with_name(plain.stem.removesuffix("-Regular") + ending)
        if heavy.is_file():
            pdfmetrics.registerFont(TTFont(BOLD, str(heavy)))
            return BOLD
    registered()
    return NAME


@cache
def sized(height: int) -> ImageFont.FreeTypeFont:
    """The typeface for a picture; height in px (>= 1) of the letter's body."""
    return ImageFont.truetype(str(file()), height)


def drawable(text: str) -> str:
    """The text with "?" for each character the typeface cannot draw."""
    known = registered().face.charToGlyph
    return "".join(letter if ord(letter) in known else _INSTEAD.get(letter, "?") for letter in text)


def size_fitting(text: str, height: int, width: int) -> int:
    """The height, or the smaller one at which the whole text is at most so wide (px or dots)."""
    wide = registered().stringWidth(drawable(text), height)
    return height if wide <= width else int(height * width / wide)


def fitted(text: str, height: float, width: float) -> str:
    """The text, cut with an ellipsis so that at this height it is at most so wide (any unit)."""
    text = drawable(text)
    font = registered()
    if font.stringWidth(text, height) <= width:
        return text
    while text and font.stringWidth(text + "…", height) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def in_two(text: str, height: float, width: float) -> list[str]:
    """The text in one line where it is at most so wide, else in two, the second cut."""
    words = drawable(text).split()
    font = registered()
    fit = [
        n
        for n in range(1, len(words) + 1)
        if font.stringWidth(" ".join(words[:n]), height) <= width
    ]
    if not fit or fit[-1] == len(words):
        return [fitted(text, height, width)]
    return [" ".join(words[: fit[-1]]), fitted(" ".join(words[fit[-1] :]), height, width)]
