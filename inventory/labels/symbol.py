"""A square code by itself, for a line of a printed sheet: offered only once two decoders gave back
exactly what it should carry (zxing-cpp alone where libzbar is missing).

QR Code (ISO/IEC 18004) because both decoders read it and a camera reads it from any side.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from inventory.labels import decoders, matrix
from inventory.labels.errors import LabelUnreadable
from inventory.labels.label import Label

QUIET: Final = matrix.QUIET["qr"]
PIXELS: Final = 4
"""Pixels a module takes in the picture that is read back."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A code that was read back."""

    text: str
    rows: tuple[str, ...]  # "1" dark, "0" light, top first; no quiet zone

    @property
    def side(self) -> int:
        """Modules a side, the quiet zones counted."""
        return len(self.rows) + 2 * QUIET


@lru_cache(maxsize=512)
def symbol(kind: str, text: str) -> Symbol:
    """The code of one of our texts; kind as in `label.KINDS`, named in errors.

    Raises LabelRefused (no text for a code) or LabelUnreadable (a decoder reads something else).
    """
    label = Label(kind, text, code=text, matrix="qr")
    found = Symbol(text, matrix.modules(label))
    picture = _picture(found)
    for name, read in (("zxing-cpp", _zxing), ("zbar", _zbar)):
        got = read(picture)
        if got is not None and got != [label.carried]:
            raise LabelUnreadable(
                f"{label.name}: expected {name} to read {label.carried!r}, got {got!r}"
            )
    return found


def _picture(found: Symbol) -> NDArray[np.uint8]:
    """The code as grey pixels with its quiet zone."""
    dark = np.array([[cell == "1" for cell in row] for row in found.rows])
    grey = np.where(np.pad(dark, QUIET), 0, 255).astype(np.uint8)
    return np.ascontiguousarray(np.kron(grey, np.ones((PIXELS, PIXELS), dtype=np.uint8)))


def _zxing(picture: NDArray[np.uint8]) -> list[bytes]:
    return [data for _, data in decoders.zxing(picture)]


def _zbar(picture: NDArray[np.uint8]) -> list[bytes] | None:
    found = decoders.zbar(picture)
    return None if found is None else [data for _, data in found]
