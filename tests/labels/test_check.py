"""A label that does not read back is not offered."""

import pytest
from PIL import Image, ImageDraw

from inventory.labels import check, linear, png
from inventory.labels.drawing import draw
from inventory.labels.errors import LabelUnreadable
from inventory.labels.label import Label
from tests.labels.some import BAG, EVERY, NINES, UNIT


@pytest.mark.parametrize("label", EVERY, ids=lambda label: label.human)
def test_what_we_draw_reads_back(label) -> None:
    """Both codes give the same bytes, in the right symbology."""
    drawing = draw(label)
    found = check.check(drawing, png.picture(drawing))

    assert found == 1 + drawing.linear


def test_a_spoiled_picture_is_unreadable() -> None:
    """A stroke through the square code, and the error names the label."""
    drawing = draw(BAG)
    image = png.picture(drawing)
    pen = ImageDraw.Draw(image)
    pen.rectangle((drawing.width * 3 // 4, 0, drawing.width, drawing.height // 2), fill=255)
    with pytest.raises(LabelUnreadable) as fault:
        check.check(drawing, image)

    assert "bag label LBG000007W: expected to read back" in str(fault.value)
    assert str(fault.value).endswith("got ]C0 b'LBG000007W'")


def test_another_text_is_unreadable() -> None:
    """A right code of another label is as wrong as none."""
    with pytest.raises(LabelUnreadable, match="expected to read back"):
        check.check(draw(NINES), png.picture(draw(BAG)))


def test_gs1_data_printed_as_plain_text_are_unreadable() -> None:
    """The same characters without FNC1 in front are not a GS1 label."""
    plain = Label("unit", "Module", code=UNIT.carried.decode())
    with pytest.raises(LabelUnreadable, match=r"\]C1 .*got \]C0"):
        check.check(draw(UNIT), png.picture(draw(plain)))


def test_an_encoder_that_loses_the_99_is_caught(monkeypatch) -> None:
    """Should the library's fault come back, the label is refused, not printed."""
    right = linear.modules
    monkeypatch.setattr(
        "inventory.labels.linear.modules",
        lambda label: right(Label("unit", "x", code=label.code.removeprefix("99"))),
    )
    with pytest.raises(LabelUnreadable, match="unit label 9912345678"):
        png.png(NINES)


def test_a_blank_label_is_unreadable() -> None:
    """Nothing drawn, nothing read."""
    drawing = draw(BAG)
    with pytest.raises(LabelUnreadable, match="got nothing"):
        check.check(drawing, Image.new("L", (drawing.width, drawing.height), 255))
