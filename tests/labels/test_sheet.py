"""A sheet of labels, printed at the printer's resolution, reads back label by label."""

import io

import pypdfium2
import pytest
import zxingcpp

from inventory.labels.drawing import HEIGHT, RESOLUTIONS, WIDTH, dots
from inventory.labels.errors import LabelRefused, LabelUnreadable
from inventory.labels.label import Label
from inventory.labels.sheet import COLUMNS, PER_SHEET, TOP, pdf
from tests.labels.some import BAG, EVERY, LONG


def pages(file: bytes, dpi: int) -> list:
    """The pages as a printer with so many dots per inch would lay them down."""
    document = pypdfium2.PdfDocument(file)
    images = [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    document.close()
    return images


def read(page, place: int, dpi: int) -> set[bytes]:
    """What a decoder finds on one place of the sheet."""
    row, column = divmod(place, COLUMNS)
    left, top = dots(column * WIDTH, dpi), dots(TOP + row * HEIGHT, dpi)
    cell = page.crop((left, top, left + dots(WIDTH, dpi), top + dots(HEIGHT, dpi)))
    found = zxingcpp.read_barcodes(cell, text_mode=zxingcpp.TextMode.Plain)
    return {(symbol.symbology_identifier[:2], symbol.bytes) for symbol in found}


@pytest.mark.parametrize("dpi", RESOLUTIONS)
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
