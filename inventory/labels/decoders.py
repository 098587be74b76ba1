"""The two decoders that judge what was drawn: zxing-cpp, and libzbar by pyzbar where it is there.

They share no code. libzbar has no Data Matrix and does not say which symbology identifier it saw.
"""

from functools import cache
from typing import Any, Final

import numpy as np
import zxingcpp
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Read = set[tuple[str, bytes]]
_FORMATS: Final = zxingcpp.BarcodeFormats(
    [
        zxingcpp.BarcodeFormat.Code128,
        zxingcpp.BarcodeFormat.DataMatrix,
        zxingcpp.BarcodeFormat.QRCode,
    ]
)
_ZBAR_SORTS: Final = {"CODE128": "linear", "QRCODE": "qr"}


def zxing(picture: Grey) -> Read:
    """(symbology identifier of ISO/IEC 15424, bytes) of each symbol.

    At the picture's own size only: its look at a reduced picture made `%BLCEM%70(`, check character
    right, out of a faultless LBLCEML702 of four pixels a module (measured, 3.1.1).
    """
    found = zxingcpp.read_barcodes(
        picture, formats=_FORMATS, text_mode=zxingcpp.TextMode.Plain, try_downscale=False
    )
    return {(symbol.symbology_identifier, symbol.bytes) for symbol in found}


def zbar(picture: Grey) -> Read | None:
    """(linear or qr, bytes) of each symbol; None where libzbar cannot be loaded."""
    library = _library()
    if library is None:
        return None
    # The other readers of this decoder are those that invent values.
    wanted = [library.ZBarSymbol[name] for name in _ZBAR_SORTS]
    return {(_ZBAR_SORTS[one.type], one.data) for one in library.decode(picture, symbols=wanted)}


@cache
def _library() -> Any:
    """The pyzbar module, None where it or libzbar is missing."""
    try:
        from pyzbar import pyzbar
    except (ImportError, OSError):  # measured: either, by how the library is missing
        return None
    return pyzbar
