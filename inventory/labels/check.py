"""No label is offered before a decoder has given back, byte for byte, what it should carry."""

import zxingcpp
from PIL import Image

from inventory.labels.drawing import Drawing
from inventory.labels.errors import LabelUnreadable
from inventory.labels.label import Label

# Symbology identifiers of ISO/IEC 15424: (plain, GS1). A GS1 label that reads as plain text
# would lose its separators in every system that takes it in.
IDENTIFIERS = {"linear": ("]C0", "]C1"), "datamatrix": ("]d1", "]d2"), "qr": ("]Q1", "]Q3")}

FORMATS = zxingcpp.BarcodeFormats(
    [
        zxingcpp.BarcodeFormat.Code128,
        zxingcpp.BarcodeFormat.DataMatrix,
        zxingcpp.BarcodeFormat.QRCode,
    ]
)


def check(drawing: Drawing, image: Image.Image) -> int:
    """Decode the picture of a drawing; how many symbols it holds, each as it should be.

    Raises LabelUnreadable, naming the label, what should have come and what came.
    """
    found = {
        (symbol.symbology_identifier, symbol.bytes)
        for symbol in zxingcpp.read_barcodes(
            image, formats=FORMATS, text_mode=zxingcpp.TextMode.Plain
        )
    }
    expected = _expected(drawing.label, drawing.linear)
    if found != expected:
        raise LabelUnreadable(
            f"{drawing.label.name}: expected to read back {_words(expected)}, got {_words(found)}"
        )
    return len(found)


def _expected(label: Label, linear: bool) -> set[tuple[str, bytes]]:
    """Identifier and bytes of each symbol on the label."""
    sorts = (["linear"] if linear else []) + [label.matrix]
    return {(IDENTIFIERS[sort][bool(label.pairs)], label.carried) for sort in sorts}


def _words(symbols: set[tuple[str, bytes]]) -> str:
    return ", ".join(f"{identifier} {data!r}" for identifier, data in sorted(symbols)) or "nothing"
