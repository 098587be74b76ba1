"""No label is offered before decoders have given back, byte for byte, what it should carry.

zxing-cpp reads all symbols with their identifiers; libzbar, where it is there, reads line codes and
QR once more. A second decoder of Data Matrix is not in the product: the tests have one (libdmtx).
"""

import numpy as np
from PIL import Image

from inventory.labels import decoders
from inventory.labels.drawing import Drawing
from inventory.labels.errors import LabelUnreadable
from inventory.labels.label import Label

# Symbology identifiers of ISO/IEC 15424: (plain, GS1). A GS1 label that reads as plain text
# would lose its separators in every system that takes it in.
IDENTIFIERS = {"linear": ("]C0", "]C1"), "datamatrix": ("]d1", "]d2"), "qr": ("]Q1", "]Q3")}


def check(drawing: Drawing, image: Image.Image) -> int:
    """Decode the picture of a drawing; how many symbols it holds, each as it should be.

    Raises LabelUnreadable, naming the label, what should have come and what came.
    """
    picture = np.asarray(image)
    label, sorts = drawing.label, _sorts(drawing)
    found = decoders.zxing(picture)
    expected = {(IDENTIFIERS[sort][bool(label.pairs)], label.carried) for sort in sorts}
    _demand(label, "", expected, found)
    again = decoders.zbar(picture)
    if again is not None:
        read = {(sort, label.carried) for sort in sorts if sort != "datamatrix"}
        _demand(label, " by the second decoder", read, again)
    return len(found)


def _sorts(drawing: Drawing) -> list[str]:
    """The symbols on the label."""
    return (["linear"] if drawing.linear else []) + [drawing.label.matrix]


def _demand(label: Label, by: str, expected: decoders.Read, found: decoders.Read) -> None:
    if found != expected:
        raise LabelUnreadable(
            f"{label.name}: expected to read back{by} {_words(expected)}, got {_words(found)}"
        )


def _words(symbols: decoders.Read) -> str:
    return ", ".join(f"{identifier} {data!r}" for identifier, data in sorted(symbols)) or "nothing"
