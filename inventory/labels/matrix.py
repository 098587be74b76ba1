"""The square code of a label: Data Matrix (ISO/IEC 16022) or QR Code (ISO/IEC 18004)."""

from typing import Any

import numpy as np
import zxingcpp

from inventory.labels.errors import LabelRefused
from inventory.labels.label import Label

QUIET = {"datamatrix": 2, "qr": 4}
"""Modules left white on each side; the standards ask for 1 (Data Matrix) and 4 (QR)."""


def modules(label: Label) -> tuple[str, ...]:
    """The symbol as rows of "1" (dark) and "0", top first, as many rows as columns.

    Raises LabelRefused where the encoder cannot carry the content.
    """
    format_ = zxingcpp.BarcodeFormat.DataMatrix
    # Without force_square a Data Matrix comes as a rectangle that old readers do not know.
    options: dict[str, Any] = {"force_square": True}
    if label.matrix == "qr":
        format_, options = zxingcpp.BarcodeFormat.QRCode, {"ec_level": "M"}
    content = label.code
    if label.pairs:
        # Only square brackets with gs1=True give a GS1 symbol; others are carried as data.
        content = "".join(f"[{identifier}]{value}" for identifier, value in label.pairs)
        options["gs1"] = True
    try:
        symbol = zxingcpp.create_barcode(content, format_, **options)
    except Exception as fault:  # the binding raises plain ValueError and RuntimeError
        raise LabelRefused(
            f"{label.name}: expected text for a {label.matrix}, got {fault}"
        ) from fault
    dark = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False)) == 0
    return tuple("".join("1" if cell else "0" for cell in row) for row in dark)
