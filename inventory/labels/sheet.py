"""Labels as a PDF of A4 sheets, 3 x 8 labels of 70 x 37 mm, drawn in whole printer dots."""

import io
from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from inventory.labels import check, png, typeface
from inventory.labels.drawing import HEIGHT, WIDTH, Drawing, dots, draw
from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label

PAGE_WIDTH, PAGE_HEIGHT = 210.0, 297.0  # mm, A4 (ISO 216)
COLUMNS, ROWS = 3, 8
PER_SHEET = COLUMNS * ROWS
TOP = (PAGE_HEIGHT - ROWS * HEIGHT) / 2  # mm above the first row
MOST = 1200
"""Labels in one file; more is a slip of the hand, and a printer's whole box of sheets."""


def pdf(labels: Sequence[Label], dpi: int = 203, skip: int = 0) -> bytes:
    """The labels as a PDF file, each decoded again before the file is given out.

    dpi: 203 or 300, of the printer. skip: 0 to 23 places already used on the first sheet.
    The same input gives the same bytes. Raises LabelRefused or LabelUnreadable.
    """
    if not 0 < len(labels) <= MOST:
        raise LabelRefused(f"sheet of labels: expected 1 to {MOST} labels, got {len(labels)}")
    if not 0 <= skip < PER_SHEET:
        raise LabelRefused(f"sheet of labels: expected 0 to {PER_SHEET - 1} skipped, got {skip}")
    drawings = [draw(label, dpi) for label in labels]
    for drawing in drawings:
        check.check(drawing, png.picture(drawing))
    return _written(drawings, dpi, skip)


def _written(drawings: Sequence[Drawing], dpi: int, skip: int) -> bytes:
    stream = io.BytesIO()
    point = 72 / 25.4
    size = (PAGE_WIDTH * point, PAGE_HEIGHT * point)
    canvas = Canvas(stream, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    typeface.registered()
    for number, drawing in enumerate(drawings, skip):
        if number % PER_SHEET == 0 and number != skip:
            canvas.showPage()
        row, column = divmod(number % PER_SHEET, COLUMNS)
        _place(canvas, drawing, dots(column * WIDTH, dpi), dots(TOP + row * HEIGHT, dpi))
    canvas.save()
    return stream.getvalue()


def _place(canvas: Canvas, drawing: Drawing, left: int, top: int) -> None:
    """Draw one label with its top left corner so many dots from the sheet's top left corner."""
    unit = 72 / drawing.dpi  # points per dot
    height = PAGE_HEIGHT * 72 / 25.4
    path = canvas.beginPath()
    for bar in drawing.bars:
        y = height - (top + bar.y + bar.height) * unit
        path.rect((left + bar.x) * unit, y, bar.width * unit, bar.height * unit)
    canvas.drawPath(path, stroke=0, fill=1)
    for line in drawing.prints:
        canvas.setFont(typeface.NAME, line.size * unit)
        canvas.drawString((left + line.x) * unit, height - (top + line.base) * unit, line.text)
