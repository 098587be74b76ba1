"""What is dark and what is light in every square code of one kind and size, whatever it carries.

Source: ISO/IEC 16022 (Data Matrix: solid borders left and below, clocked ones above and right),
ISO/IEC 18004 (QR: finders, their separators, timing, one alignment from version 2 on). Sizes of
which more than one region or alignment is drawn are left out: their modules are so many that a
label of them is read at close range only.
"""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

SIZES: Final = {
    "DataMatrix": (10, 12, 14, 16, 18, 20, 22, 24, 26),
    "QR": (21, 25, 29, 33, 37, 41),
}
"""Modules of a side, by kind."""

FINDER: Final = 7  # modules of a finder's side
TIMING: Final = 6  # row and column of a QR's timing


@cache
def fixed(kind: str, size: int) -> NDArray[np.float32]:
    """size x size: 1 for dark, 0 for light, nan for what depends on the text; not to be written."""
    modules = np.full((size, size), np.nan, np.float32)
    clock = np.arange(size) % 2
    if kind == "DataMatrix":
        modules[0], modules[:, -1] = 1 - clock, clock
        modules[:, 0] = modules[-1] = 1
        return modules
    modules[TIMING] = modules[:, TIMING] = 1 - clock
    far = size - FINDER
    for top, left in ((0, 0), (0, far), (far, 0)):
        _rings(modules, top + FINDER // 2, left + FINDER // 2, (1, 1, 0, 1, 0))
    modules[far - 1, FINDER + 1] = 1
    if size > SIZES["QR"][0]:
        _rings(modules, far, far, (1, 0, 1))
    return modules


def _rings(modules: NDArray[np.float32], row: int, column: int, rings: tuple[int, ...]) -> None:
    """Square rings round a module, from the middle outwards; what lies outside is left out."""
    rows, columns = np.indices(modules.shape)
    away = np.maximum(abs(rows - row), abs(columns - column))
    for ring, dark in enumerate(rings):
        modules[away == ring] = dark
