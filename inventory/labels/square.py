"""A square code for a phone's camera: QR Code (ISO/IEC 18004) of any text, as a picture."""

import io

import numpy as np
import zxingcpp
from PIL import Image

MODULE, QUIET = 6, 4  # pixels of a module; modules left white on each side, as the standard asks


def png(text: str) -> bytes:
    """Return the code as a PNG file."""
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    cells = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False))
    spaced = np.pad(cells, QUIET, constant_values=255)
    whole = np.kron(spaced, np.ones((MODULE, MODULE), dtype=np.uint8))
    stream = io.BytesIO()
    Image.fromarray(whole.astype(np.uint8)).save(stream, "PNG", optimize=True)
    return stream.getvalue()
