"""Labels as a PDF: sheets that carry several or a roll that carries one after another, drawn in
whole printer dots."""

import io
from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from inventory.labels import check, layouts, png, typeface
from inventory.labels.drawing import Drawing, dots, draw
from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label
from inventory.labels.layouts import Layout

MOST = 1200
"""Labels in one file; more is a slip of the hand, and a printer's whole box of sheets."""

HAIR = 0.001  # points


def pdf(
    labels: Sequence[Label], dpi: int = 203, skip: int = 0, layout: Layout | None = None
) -> bytes:
    """The labels as a PDF file, each decoded again before the file is given out.

    dpi: 203, 300 or 600, of the printer. skip: places already used on the first sheet, fewer than
    it has. A layout of None is the first. The same input gives the same bytes. Raises LabelRefused
    or LabelUnreadable.
    """
    layout = layout or layouts.named(layouts.FIRST)
    if not 0 < len(labels) <= MOST:
        raise LabelRefused(f"sheet of labels: expected 1 to {MOST} labels, got {len(labels)}")
    if not 0 <= skip < layout.per_page:
        most = layout.per_page - 1
        raise LabelRefused(
            f"{layout.words}: expected 0 to {most} skipped, got {skip}"
            if most
            else f"{layout.words}: expected no label skipped, got {skip}"
        )
    drawings = [draw(label, dpi, layout) for label in labels]
    for drawing in drawings:
        check.check(drawing, png.picture(drawing))
    return _written(drawings, layout, dpi, skip)


def _written(drawings: Sequence[Drawing], layout: Layout, dpi: int, skip: int) -> bytes:
    stream = io.BytesIO()
    unit = 72 / dpi  # points per dot
    wide, high = dots(layout.page_width, dpi), dots(layout.page_height, dpi)
    # The page too has whole dots, less a hair: whoever rounds up would stretch all by one dot.
    size = (wide * unit - HAIR, high * unit - HAIR)
    canvas = Canvas(stream, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    typeface.registered()
    for number, drawing in enumerate(drawings, skip):
        if number % layout.per_page == 0 and number != skip:
            canvas.showPage()
        left, top = layout.corner(number % layout.per_page)
        _place(canvas, drawing, dots(left, dpi), high - dots(top, dpi))
    canvas.save()
    return stream.getvalue()


def _place(canvas: Canvas, drawing: Drawing, left: int, top: int) -> None:
    """Draw one label with its top left corner so many dots from the page's lower left corner."""
    unit = 72 / drawing.dpi  # points per dot
    path = canvas.beginPath()
    for bar in drawing.bars:
        y = (top - bar.y - bar.height) * unit
        path.rect((left + bar.x) * unit, y, bar.width * unit, bar.height * unit)
    canvas.drawPath(path, stroke=0, fill=1)
    for line in drawing.prints:
        canvas.setFont(typeface.NAME, line.size * unit)
        canvas.drawString((left + line.x) * unit, (top - line.base) * unit, line.text)
