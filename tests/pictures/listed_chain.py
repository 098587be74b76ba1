"""The best chain that the project's picture notes list, as they list it: what ours is held against.

Chain L with gate and catalogue of ../shared/reference/pictures.md section 6 (its figure: 140 of 150
of these photographs, 0 wrong; optimistic, since the photographs were chosen with its own steps).
Grey, the longer side at most 1,600 px; twelve steps, left at the first value that is accepted.
Nothing of the product is used here.
"""

import time
from collections.abc import Callable, Iterator
from typing import Final

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Sight = tuple[str, str, bool]
"""(text, symbology, strong enough to count by itself)"""

SIDE: Final = 1_600
_Format = zxingcpp.BarcodeFormat
FORMATS: Final = {
    "Code 128": (_Format.Code128, "Code128"),
    "Code 39": (_Format.Code39Std, "Code39"),
    "EAN-13": (_Format.EAN13, "EAN13"),
    "EAN-8": (_Format.EAN8, "EAN8"),
    "UPC-A": (_Format.UPCA, "UPCA"),
    "ITF": (_Format.ITF, "ITF"),
    "QR Code": (_Format.QRCode, "QR"),
    "Data Matrix": (_Format.DataMatrix, "DataMatrix"),
    "Aztec Code": (_Format.AztecCode, "Aztec"),
    "Aztec": (_Format.AztecCode, "Aztec"),
    "PDF417": (_Format.PDF417, "PDF417"),
}
ZBAR: Final = {
    "CODE128": "Code128",
    "CODE39": "Code39",
    "EAN13": "EAN13",
    "UPCA": "UPCA",
    "I25": "ITF",
    "QRCODE": "QR",
}
RETAIL: Final = {"EAN13", "UPCA", "EAN8"}
LINES: Final = RETAIL | {"Code128", "Code39", "ITF"}


def listed_chain(grey: Grey, catalogue: set[str]) -> tuple[set[tuple[str, str]], float]:
    """What the chain accepts, as (text, symbology), and its CPU seconds. catalogue: 14 digits."""
    begun = time.thread_time()
    factor = min(1.0, SIDE / max(grey.shape))
    small = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    seen: dict[str, int] = {}
    accepted: set[tuple[str, str]] = set()
    for step in _steps(small.astype(np.uint8, copy=False)):
        for text, symbology, strong in step():
            key = text.zfill(14) if symbology in RETAIL else text
            if symbology in RETAIL and key not in catalogue:
                continue
            seen[key] = seen.get(key, 0) + 1
            if strong or seen[key] > 1:
                accepted.add((text, symbology))
        if accepted:
            break
    return accepted, time.thread_time() - begun


def _steps(grey: Grey) -> Iterator[Callable[[], list[Sight]]]:
    yield lambda: _zxing(grey)
    yield lambda: _zxing(_even(grey))
    yield lambda: _zxing(_double(grey))
    yield lambda: _zbar(grey)
    wide = cv2.GaussianBlur(grey, (0, 0), 2.0)
    yield lambda: _zxing(cv2.addWeighted(grey, 3.0, wide, -2.0, 0))
    for degrees in (45, 20, -20):
        yield lambda degrees=degrees: _zxing(_turn(grey, degrees))
    yield lambda: _zbar(_double(grey))
    yield lambda: _zbar(_even(grey))


def _even(grey: Grey) -> cv2.typing.MatLike:
    return cv2.createCLAHE(3.0, (8, 8)).apply(grey)


def _double(grey: Grey) -> cv2.typing.MatLike:
    return cv2.resize(grey, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)


def _turn(grey: Grey, degrees: float) -> cv2.typing.MatLike:
    height, width = grey.shape
    there = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    cos, sin = abs(there[0, 0]), abs(there[0, 1])
    size = (int(height * sin + width * cos) + 1, int(height * cos + width * sin) + 1)
    there[:, 2] += (size[0] - width) / 2, (size[1] - height) / 2
    return cv2.warpAffine(grey, there, size, borderValue=(255,))


def _zxing(pixels: cv2.typing.MatLike) -> list[Sight]:
    wanted = zxingcpp.BarcodeFormats([format_ for format_, _ in FORMATS.values()])
    found = zxingcpp.read_barcodes(pixels, formats=wanted, text_mode=zxingcpp.TextMode.Plain)
    sights = []
    for symbol in found:
        _, word = FORMATS.get(str(symbol.format), (None, ""))
        if word and symbol.text:
            least = 0.0 if word not in LINES else 0.02 if word == "Code128" else 0.05
            sights.append((symbol.text, word, _flatness(symbol.position) >= least))
    return sights


def _flatness(place: zxingcpp.Position) -> float:
    """Height of the box in its width."""
    left, right = place.top_left, place.top_right
    width = np.hypot(right.x - left.x, right.y - left.y)
    height = np.hypot(place.bottom_left.x - left.x, place.bottom_left.y - left.y)
    return float(height / max(width, 1))


def _zbar(pixels: cv2.typing.MatLike) -> list[Sight]:
    from pyzbar import pyzbar

    sights = []
    for symbol in pyzbar.decode(pixels, symbols=[pyzbar.ZBarSymbol[name] for name in ZBAR]):
        word = ZBAR[symbol.type]
        least = 24 if word in RETAIL else 10 if word in {"ITF", "Code39"} else 0
        sights.append((symbol.data.decode("utf-8", "replace"), word, symbol.quality >= least))
    return sights
