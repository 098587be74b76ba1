"""One label as a picture: one pixel per printer dot, so whole pixels per module."""

import io

from PIL import Image, ImageDraw

from inventory.labels import check, typeface
from inventory.labels.drawing import Drawing, draw
from inventory.labels.label import Label
from inventory.labels.layouts import Layout


def picture(drawing: Drawing) -> Image.Image:
    """The drawing as an 8-bit grey picture."""
    image = Image.new("L", (drawing.width, drawing.height), 255)
    pen = ImageDraw.Draw(image)
    for bar in drawing.bars:
        corner = (bar.x + bar.width - 1, bar.y + bar.height - 1)
        pen.rectangle(((bar.x, bar.y), corner), fill=0)
    for line in drawing.prints:
        pen.text((line.x, line.base), line.text, 0, typeface.sized(line.size), anchor="ls")
    return image


def png(label: Label, dpi: int = 203, layout: Layout | None = None) -> bytes:
    """The label as a PNG file, decoded again before it is given out; a layout of None is the first.

    Raises LabelRefused or LabelUnreadable, both naming the label.
    """
    drawing = draw(label, dpi, layout)
    image = picture(drawing)
    check.check(drawing, image)
    stream = io.BytesIO()
    image.save(stream, "PNG", dpi=(dpi, dpi), optimize=True)
    return stream.getvalue()
