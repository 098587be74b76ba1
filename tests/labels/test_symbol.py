"""A code for a sheet is offered only when two decoders give back what it should carry."""

import numpy as np
import pytest
import zxingcpp

from inventory.labels import symbol
from inventory.labels.errors import LabelRefused, LabelUnreadable


@pytest.mark.parametrize("text", ["LBG000007W", "CT-SIDE-LC", "ab c/7", "9912345678", "A" * 48])
def test_a_code_carries_its_text(text) -> None:
    """Read from its own cells, one pixel each, with four cells of white around (ISO/IEC 18004)."""
    found = symbol.symbol("item", text)
    cells = np.array([[0 if cell == "1" else 255 for cell in row] for row in found.rows])
    grey = np.pad(cells, 4, constant_values=255).astype(np.uint8)

    (read,) = zxingcpp.read_barcodes(np.kron(grey, np.ones((3, 3), np.uint8)))
    assert (text, "]Q1", len(grey)) == (read.text, read.symbology_identifier, found.side)


@pytest.mark.parametrize("text", ["", " A", "Ł-1", "A" * 49])
def test_what_no_code_can_carry_is_refused(text) -> None:
    """Empty, a blank at an end, letters beyond ASCII, too long."""
    with pytest.raises(LabelRefused):
        symbol.symbol("item", text)


@pytest.mark.parametrize("decoder", ["_zxing", "_zbar"])
def test_one_decoder_that_reads_something_else_stops_it(monkeypatch, decoder) -> None:
    """Both must agree with the text; the error names the one that does not."""
    monkeypatch.setattr(symbol, decoder, lambda picture: [b"LBG000008X"])
    with pytest.raises(LabelUnreadable, match="item label LBG000009Y: expected z"):
        symbol.symbol.__wrapped__("item", "LBG000009Y")
