"""The two decoders behind one shape: zxing-cpp (always there) and pyzbar (needs libzbar0).

OpenCV's own are kept out: its line-code detector invents values (48 of 1,007 photos), its curved QR
reader ends the process (both measured, 24 Nov 2026). Symbologies are only those that goods carry;
EAN-8, UPC-E and the stacked kinds are off, because decoders make them out of pieces of others.

Each hit says whether it is sure. A line code read along few lines (zxing-cpp gives a flat box) or
with few agreeing lines (pyzbar's quality) is wrong far more often than others: the thresholds held
12 of 15 wrong reads for 8 of 100 right ones, and 40 of 50 for 13 of 100 (measured over 1,007
photos, 24 Nov 2026).
"""

from functools import cache
from math import hypot
from typing import Any

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from inventory.pictures.hit import LINEAR, Hit
from inventory.pictures.preparing import Prepared

_Format = zxingcpp.BarcodeFormat
FORMATS = zxingcpp.BarcodeFormats(
    [
        _Format.Code128,
        _Format.Code39Std,
        _Format.EAN13,
        _Format.UPCA,
        _Format.ITF,
        _Format.QRCode,
        _Format.DataMatrix,
        _Format.AztecCode,
        _Format.PDF417,
    ]
)

# What zxing-cpp calls the symbology -> our word.
WORDS = {
    "Code 128": "Code128",
    "Code 39": "Code39",
    "EAN-13": "EAN13",
    "UPC-A": "UPCA",
    "ITF": "ITF",
    "QR Code": "QR",
    "Data Matrix": "DataMatrix",
    "Aztec": "Aztec",
    "Aztec Code": "Aztec",
    "PDF417": "PDF417",
}
ZBAR_WORDS = {
    "CODE128": "Code128",
    "CODE39": "Code39",
    "EAN13": "EAN13",
    "I25": "ITF",
    "QRCODE": "QR",
}
GS1_WORDS = {"]C1": "GS1-128", "]d2": "GS1DataMatrix", "]Q3": "GS1QR"}  # ISO/IEC 15424
LINES = zxingcpp.BarcodeFormats(
    [_Format.Code128, _Format.Code39Std, _Format.EAN13, _Format.UPCA, _Format.ITF]
)

FLAT = 0.05
"""Height of a line code's box in its width, below which zxing-cpp is not sure."""
FLAT_128 = 0.02  # Code 128: its check character finds more
FEW = 10
"""pyzbar's quality (lines that agree), below which it is not sure."""
FEW_RETAIL = 24  # EAN-13, UPC-A: their one check digit lets every tenth misread through


def zxing(picture: Prepared) -> list[Hit]:
    """What zxing-cpp reads. Plain text mode: the default puts brackets into GS1 data."""
    return _zxing(picture, formats=FORMATS)


def zxing_lines(picture: Prepared) -> list[Hit]:
    """What zxing-cpp reads of line codes whose bars stand upright: a third of the time."""
    return _zxing(picture, formats=LINES, try_rotate=False, try_invert=False)


def _zxing(picture: Prepared, **how: Any) -> list[Hit]:
    found = zxingcpp.read_barcodes(picture.pixels, text_mode=zxingcpp.TextMode.Plain, **how)
    hits = []
    for symbol in found:
        text = _text(symbol)
        place = symbol.position
        corners = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
        box = _box(picture, [(corner.x, corner.y) for corner in corners])
        word = GS1_WORDS.get(symbol.symbology_identifier, WORDS.get(str(symbol.format), ""))
        if text and word:
            hits.append(Hit(text, word, box, _not_flat(word, place)))
    return hits


def redrawn(picture: Prepared) -> NDArray[np.uint8] | None:
    """The modules, 1 for dark, of the one square code in the picture as its text is drawn anew.

    None where none or several are read, or this text is not drawn in that size.
    """
    found: list[Any] = zxingcpp.read_barcodes(picture.pixels, text_mode=zxingcpp.TextMode.Plain)
    if len(found) != 1:
        return None
    [symbol] = found
    how: dict[str, Any] = {}
    if symbol.format == _Format.QRCode:
        size, mask = int(symbol.extra["Version"]), int(symbol.extra["DataMask"])
        how |= {"version": size, "data_mask": mask, "ec_level": symbol.ec_level}
    else:
        how["force_square"] = True
    try:
        anew = zxingcpp.create_barcode(symbol.text, symbol.format, **how)
    except (ValueError, RuntimeError):
        return None
    image = zxingcpp.write_barcode_to_image(anew, scale=1, add_quiet_zones=False)
    return np.asarray(np.array(image) == 0, np.uint8)


def zbar(picture: Prepared) -> list[Hit]:
    """What pyzbar reads; nothing where it cannot be loaded (see `zbar_note`)."""
    library = _library()
    if isinstance(library, str):
        return []
    wanted = [library.ZBarSymbol[name] for name in ZBAR_WORDS]
    hits = []
    for symbol in library.decode(picture.pixels, symbols=wanted):
        # A hit without area is a ghost that stands nowhere in the picture.
        if not symbol.rect.width or not symbol.rect.height:
            continue
        text = symbol.data.decode("utf-8", "replace")
        # libzbar guesses alphabets and drops the mark of GS1: such texts are zxing-cpp's alone.
        if text.isascii() and "\x1d" not in text:
            box = _box(picture, [(point.x, point.y) for point in symbol.polygon])
            word = ZBAR_WORDS[symbol.type]
            few = {"EAN13": FEW_RETAIL, "Code39": FEW, "ITF": FEW}.get(word, 0)
            hits.append(Hit(text, word, box, symbol.quality >= few))
    return hits


def zbar_note() -> str:
    """Empty, or one line that says why the second decoder is left out."""
    library = _library()
    return library if isinstance(library, str) else ""


@cache
def _library() -> Any:
    """The pyzbar module, or the words why there is none."""
    try:
        from pyzbar import pyzbar
    except (ImportError, OSError) as fault:  # measured: either, by how the library is missing
        return (
            "pyzbar is left out, photos are read by zxing-cpp alone: "
            f"install libzbar0 to have both ({fault})"
        )
    return pyzbar


def _text(symbol: zxingcpp.Barcode) -> str:
    """The symbol's text; empty where its alphabet would have to be guessed."""
    try:
        return symbol.bytes.decode("utf-8")
    except UnicodeDecodeError:
        named = symbol.content_type != zxingcpp.ContentType.Binary
        return symbol.text if named else ""


def _not_flat(word: str, place: Any) -> bool:
    """Whether zxing-cpp saw enough of the bars' length."""
    if word not in LINEAR:
        return True
    width = hypot(place.top_right.x - place.top_left.x, place.top_right.y - place.top_left.y)
    height = hypot(place.bottom_left.x - place.top_left.x, place.bottom_left.y - place.top_left.y)
    return height >= (FLAT_128 if word in {"Code128", "GS1-128"} else FLAT) * width


def _box(picture: Prepared, points: list[tuple[int, int]]) -> tuple[int, int, int, int]:
    """The upright box round the points, in px of the picture before preparation."""
    if picture.one:
        height, width = picture.pixels.shape
        points = [(0, 0), (width, 0), (width, height), (0, height)]
    there = np.array(points, float) @ picture.back[:, :2].T + picture.back[:, 2]
    left, top = np.floor(there.min(axis=0)).astype(int).tolist()
    right, bottom = np.ceil(there.max(axis=0)).astype(int).tolist()
    return left, top, right - left, bottom - top
