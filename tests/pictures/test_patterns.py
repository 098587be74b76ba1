"""What is fixed in square codes, held against whole symbols drawn by zxing-cpp."""

import numpy as np
import pytest
import zxingcpp

from inventory.pictures import patterns

EVERY = [(kind, size) for kind, sizes in patterns.SIZES.items() for size in sizes]


def drawn(kind: str, size: int, text: str) -> np.ndarray:
    """The symbol of that size, 1 for dark."""
    if kind == "QR":
        how = {"ec_level": "L", "version": (size - 17) // 4}
        symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, **how)
    else:
        how = {"force_square": True, "version": patterns.SIZES[kind].index(size) + 1}
        symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, **how)
    rows = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False))
    return (rows < 128).astype(float)


@pytest.mark.parametrize(("kind", "size"), EVERY)
def test_every_symbol_has_what_is_fixed_and_nothing_else_is_alike_in_all(kind, size) -> None:
    """Over 40 texts all fixed modules are as told, and each other one is dark in some."""
    texts = np.random.default_rng(3).integers(0, 999, 40)
    symbols = np.stack([drawn(kind, size, f"{text:03}") for text in texts])
    fixed = patterns.fixed(kind, size)
    told = ~np.isnan(fixed)

    assert symbols.shape[1:] == fixed.shape
    assert (symbols[:, told] == fixed[told]).all()
    changing = ~told & (symbols.min(axis=0) < symbols.max(axis=0))
    assert changing.sum() > 0.2 * (~told).sum()
