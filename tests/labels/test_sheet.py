"""A sheet of labels, printed at the printer's resolution, reads back label by label."""

import io

import numpy as np
import pypdfium2
import pytest
import zxingcpp

from inventory.labels.drawing import RESOLUTIONS, dots, draw
from inventory.labels.errors import LabelRefused, LabelUnreadable
from inventory.labels.label import Label
from inventory.labels.layouts import layouts
from inventory.labels.sheet import pdf
from tests.labels.some import BAG, EVERY, LONG, QR, UNIT

PER_SHEET = 24  # 3 x 8


def pages(file: bytes, dpi: int) -> list:
    """The pages as a printer with so many dots per inch would lay them down."""
    document = pypdfium2.PdfDocument(file)
    images = [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    document.close()
    return images


def read(page, place: int, dpi: int) -> set[bytes]:
    """What a decoder finds on one place of the sheet."""
    row, column = divmod(place, 3)
    left, top = dots(column * 70, dpi), dots(0.5 + row * 37, dpi)
    cell = page.crop((left, top, left + dots(70, dpi), top + dots(37, dpi)))
    found = zxingcpp.read_barcodes(cell, text_mode=zxingcpp.TextMode.Plain)
    return {(symbol.symbology_identifier[:2], symbol.bytes) for symbol in found}


@pytest.mark.parametrize("dpi", RESOLUTIONS[:2])
def test_every_label_of_a_printed_sheet_reads_back(dpi) -> None:
    """24 labels on one A4 page, each with its own codes on its own place."""
    labels = [*EVERY[:5], *(Label("bin", f"Bay {n}", code=f"LBB{n:06}X") for n in range(19))]
    [page] = pages(pdf(labels, dpi), dpi)

    assert page.size == pytest.approx((210 / 25.4 * dpi, 297 / 25.4 * dpi), abs=2)
    for place, label in enumerate(labels):
        square = {"datamatrix": "]d", "qr": "]Q"}[label.matrix]
        line = set() if label is LONG else {("]C", label.carried)}
        assert line | {(square, label.carried)} == read(page, place, dpi)


def test_a_used_sheet_is_gone_on_with() -> None:
    """Skipped places stay empty; the 25th label begins a second page."""
    first, second = pages(pdf([BAG] * PER_SHEET, 203, skip=2), 203)

    assert read(first, 1, 203) == set()
    assert {data for _, data in read(first, 2, 203)} == {BAG.carried}
    assert {data for _, data in read(second, 1, 203)} == {BAG.carried}
    assert read(second, 2, 203) == set()


def test_the_same_labels_give_the_same_file() -> None:
    """No time stands in the file, so a second print can be compared."""
    assert pdf([BAG, LONG]) == pdf([BAG, LONG])


def test_the_print_is_in_the_file_as_text() -> None:
    """Letters are embedded, so they can be searched and look alike everywhere."""
    label = Label("bin", "Łódź shelf", code="LBB000001Z", lines=("row two",))
    text = pypdfium2.PdfDocument(io.BytesIO(pdf([label])))[0].get_textpage().get_text_range()

    assert "shelf" in text
    assert "row two" in text
    assert "LBB000001Z" in text


@pytest.mark.parametrize(
    ("count", "skip", "message"),
    [(0, 0, "expected 1 to 1200 labels, got 0"), (1, 24, "expected 0 to 23 skipped, got 24")],
)
def test_a_sheet_without_sense_is_refused(count, skip, message) -> None:
    """No labels, or more skipped than a sheet has."""
    with pytest.raises(LabelRefused, match=message):
        pdf([BAG] * count, skip=skip)


def test_one_unreadable_label_stops_the_sheet(monkeypatch) -> None:
    """Nothing is printed before every label was read; the error names the one."""
    monkeypatch.setattr(
        "inventory.labels.linear.modules", lambda label: "11010011100" * 9 + "1100011101011"
    )
    with pytest.raises(LabelUnreadable, match="bag label LBG000007W"):
        pdf([BAG])


@pytest.mark.parametrize("dpi", RESOLUTIONS)
@pytest.mark.parametrize("name", ["roll-50x25", "roll-100x50", "letter-3x8"])
def test_a_page_has_each_bar_on_its_own_dots(name, dpi) -> None:
    """Rendered at the printer's resolution, every dot of a code is black or white, none between."""
    layout = layouts()[name]
    [page] = pages(pdf([BAG], dpi, layout=layout), dpi)
    drawing = draw(BAG, dpi, layout)
    left, top = (dots(mm, dpi) for mm in layout.corner(0))
    cell = np.asarray(page)[top : top + drawing.height, left : left + drawing.width]
    dark = np.zeros(cell.shape, bool)
    for bar in drawing.bars:
        dark[bar.y : bar.y + bar.height, bar.x : bar.x + bar.width] = True

    assert page.size == (dots(layout.page_width, dpi), dots(layout.page_height, dpi))
    assert cell[dark].max() < 10
    for bar in drawing.bars:
        beside = cell[bar.y : bar.y + bar.height, bar.x - 1]
        assert beside.min() > 245, bar


def test_a_roll_gives_a_page_a_label() -> None:
    """Three labels, three pages of 50 x 25 mm; nothing is skipped on a roll."""
    roll = layouts()["roll-50x25"]
    found = pages(pdf([BAG, UNIT, QR], 203, layout=roll), 203)

    assert [{data for _, data in read_page(page)} for page in found] == [
        {BAG.carried},
        {UNIT.carried},
        {QR.carried},
    ]
    with pytest.raises(LabelRefused, match="expected no label skipped, got 1"):
        pdf([BAG], skip=1, layout=roll)


def read_page(page) -> set[tuple[str, bytes]]:
    found = zxingcpp.read_barcodes(page, text_mode=zxingcpp.TextMode.Plain)
    return {(symbol.symbology_identifier, symbol.bytes) for symbol in found}
