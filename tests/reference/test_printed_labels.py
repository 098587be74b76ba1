"""Labels are read again from the rendered page, at the printer's own resolution, by two decoders.

zxing-cpp reads every symbol and says its symbology identifier. The second decoder shares no code
with it: libzbar for line codes and QR, libdmtx for Data Matrix. libdmtx leaves the function
character out, so of GS1 data it is asked for the characters without separators.
"""

from __future__ import annotations

from collections.abc import Sequence

import arbez_dmtx
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from inventory.labels.drawing import dots
from inventory.labels.layouts import Layout, layouts
from inventory.labels.sheet import pdf
from tests.counts import counts
from tests.reference.printed_labels import Printed, some

PAPERS = [
    *(("a4-3x8", 203), ("roll-50x25", 203), ("letter-3x8", 300), ("roll-100x50", 300)),
    *(("roll-50x25", 300), ("roll-100x50", 203), ("letter-3x10", 203), ("a4-3x7", 600)),
]
SHARES = (24, 12, 24, 8, 8, 8, 8, 8)  # of every hundred labels, by paper


@pytest.fixture(scope="module")
def zbar():
    """pyzbar's module, or a skip that says what is missing."""
    try:
        from pyzbar import pyzbar
    except (ImportError, OSError) as fault:
        pytest.skip(f"libzbar0 is missing, so the second decoder is left out: {fault}")
    return pyzbar


def cells(labels: Sequence[Printed], layout: Layout, dpi: int) -> list[Image.Image]:
    """Each label as the printer lays it down, cut from its rendered page."""
    return cut(pdf([one.label for one in labels], dpi, layout=layout), layout, dpi)[: len(labels)]


def cut(file: bytes, layout: Layout, dpi: int) -> list[Image.Image]:
    """Every place of every page of a file of labels, at the printer's resolution."""
    document = pypdfium2.PdfDocument(file)
    pages = [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    document.close()
    found = []
    for page in pages:
        for place in range(layout.per_page):
            left, top = (dots(mm, dpi) for mm in layout.corner(place))
            box = (left, top, left + dots(layout.width, dpi), top + dots(layout.height, dpi))
            found.append(page.crop(box))
    return found


def by_zxing(cell: Image.Image) -> set[tuple[str, bytes]]:
    """Identifier and bytes, at the printer's resolution alone (see labels/decoders.py)."""
    plain = zxingcpp.TextMode.Plain
    found = zxingcpp.read_barcodes(cell, text_mode=plain, try_downscale=False)
    return {(symbol.symbology_identifier, symbol.bytes) for symbol in found}


def by_libdmtx(cell: Image.Image) -> list[bytes]:
    """The Data Matrix in the upper right of a label."""
    corner = cell.crop((cell.width // 2, 0, cell.width, cell.height))
    return [one.data for one in arbez_dmtx.decode(corner, max_count=1, timeout=5000)]


def faults(one: Printed, cell: Image.Image, zbar) -> list[str]:
    """What a reader of this label would not give back, each decoder by its name."""
    names, matrix = one.identifiers, one.label.matrix
    read = by_zxing(cell)
    square = {(names[matrix], one.carried)}
    found = [] if read - {(names["linear"], one.carried)} == square else [f"zxing {read}"]
    wanted = [zbar.ZBarSymbol.CODE128, zbar.ZBarSymbol.QRCODE]
    again = {(symbol.type, symbol.data) for symbol in zbar.decode(np.asarray(cell), symbols=wanted)}
    # Whether it has a line code is zxing's word; then both must have it.
    line = {("CODE128", one.carried)} if len(read) == 2 else set()
    expected = line | ({("QRCODE", one.carried)} if matrix == "qr" else set())
    found += [] if again == expected else [f"libzbar {again}"]
    if matrix == "datamatrix":
        bare = one.carried.replace(b"\x1d", b"")
        found += [] if by_libdmtx(cell) == [bare] else [f"libdmtx {by_libdmtx(cell)}"]
    return [f"{one.label.name}: {fault}" for fault in found]


def test_every_label_reads_back_from_its_page_in_two_decoders(zbar) -> None:
    """Random labels of all kinds, on sheets and rolls, at 203, 300 and 600 dots per inch."""
    labels, wrong, lines = some(counts(100, 1000), seed=164), [], 0
    assert len(labels) == counts(100, 1000)
    start = 0
    for (name, dpi), share in zip(PAPERS, SHARES, strict=True):
        end = start + share * len(labels) // 100
        part = labels[start:end]
        for one, cell in zip(part, cells(part, layouts()[name], dpi), strict=True):
            wrong += [f"{name} {dpi}: {fault}" for fault in faults(one, cell, zbar)]
            lines += len(by_zxing(cell)) == 2
        start = end

    assert start == len(labels)
    assert wrong == []
    assert lines > len(labels) // 3  # most short ones have room for a line code


def test_the_decoders_see_what_is_wrong(zbar) -> None:
    """A label printed as plain text where GS1 was wanted, and another text, are both found."""
    [gs1] = [one for one in some(40, seed=164) if one.gs1][:1]
    plain = Printed(gs1.label, gs1.carried + b"0")
    [cell] = cells([gs1], layouts()["a4-3x8"], 203)

    assert faults(gs1, cell, zbar) == []
    assert len(faults(plain, cell, zbar)) >= 2
