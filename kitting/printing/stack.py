"""The drawing of the stack on paper: the same one the pages show, in vectors and to scale."""

from __future__ import annotations

from typing import Final

from reportlab.lib.colors import black, white
from reportlab.platypus import Flowable

from inventory.labels import typeface
from kitting.drawing import FOOTROOM, SCALES, Drawing, Shape
from kitting.printing.local import say
from kitting.printing.paper import MM
from kitting.speaking import told

LETTERS: Final = 9
"""Points."""
UNDER: Final = 4.5 * LETTERS
"""Points below the stacks: their numbers, the bar, the scale in words."""


class Figure(Flowable):  # type: ignore[misc]  # the library carries no types
    """A drawing at the largest usual scale that fits, with its bar and its scale in words."""

    def __init__(self, drawing: Drawing, width: float, height: float) -> None:
        """width, height: points it may take."""
        super().__init__()
        self._drawing = drawing
        wide, high, tall = width / MM, (height - UNDER) / MM, drawing.height - FOOTROOM
        fits = (n for n in SCALES if drawing.width <= wide * n and tall <= high * n)
        self.scale = next(fits, SCALES[-1])
        self.width = drawing.width / self.scale * MM
        self.height = tall / self.scale * MM + UNDER

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw every shape, the measures of each stack and the bar."""
        drawing, pen = self._drawing, self.canv
        pen.setStrokeColor(black)
        for shape in drawing.shapes:
            self._shape(shape)
        font = typeface.registered().fontName
        pen.setFillColor(black)
        pen.setFont(font, LETTERS)
        for caption in drawing.captions:
            pen.drawString(*self._at(caption.x, caption.y), typeface.drawable(told(caption.text)))
        for number, left, right, low in _stacks(drawing):
            x, y = self._at((left + right) / 2, low)
            pen.drawCentredString(x, y - LETTERS - 2, say("Stack {0}", number))
        self._bar()
        pen.setFont(font, LETTERS)
        scale = say(
            "1 to {0} at full size. Outlines are to scale; leads and brackets are signs.",
            self.scale,
        )
        pen.drawString(0, 2, scale)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """Points of a spot of the drawing, whose mm run downwards."""
        return x / self.scale * MM, self.height - y / self.scale * MM

    def _shape(self, shape: Shape) -> None:
        pen = self.canv
        left, top = self._at(shape.x, shape.y)
        wide, high = shape.w / self.scale * MM, shape.h / self.scale * MM
        sign = shape.kind in ("lead", "bracket")
        pen.setLineWidth(0.7 if sign else 1.3)
        pen.setFillColor(black if shape.kind == "lead" else white)
        pen.rect(left, top - high, wide, high, stroke=1, fill=1)
        pen.setFillColor(black)
        if shape.state == "trouble":
            pen.line(left, top, left + wide, top - high)
            pen.line(left, top - high, left + wide, top)
        if shape.text:
            size = min(12, high * 0.6)
            pen.setFont(typeface.bold(), size)
            said = typeface.fitted(shape.text, size, wide)
            pen.drawCentredString(left + wide / 2, top - high / 2 - size * 0.36, said)

    def _bar(self) -> None:
        pen, (x, _, length) = self.canv, self._drawing.bar
        left, low = x / self.scale * MM, 2 * LETTERS - 2
        right = left + length / self.scale * MM
        pen.setLineWidth(1)
        pen.line(left, low, right, low)
        for end in (left, right):
            pen.line(end, low, end, low + 5)
        pen.drawString(right + 5, low, f"{length} mm")


def _stacks(drawing: Drawing) -> list[tuple[str, int, int, int]]:
    """Number, left, right and foot of each stack, mm of the drawing."""
    found: dict[str, list[Shape]] = {}
    for shape in drawing.shapes:
        if shape.position:
            found.setdefault(shape.position.partition("/")[0], []).append(shape)
    told = []
    for number, shapes in found.items():
        left, right = min(one.x for one in shapes), max(one.x + one.w for one in shapes)
        under = [s for s in drawing.shapes if s.x < right and s.x + s.w > left]
        told.append((number, left, right, max(one.y + one.h for one in under)))
    return told
