"""A Code 128 is read under a blur wider than its bars, and nothing that is none.

The codes are drawn by zxing-cpp, which shares nothing with what is tested.
"""

import cv2
import numpy as np
import pytest
import zxingcpp
from barcode.charsets import code128
from numpy.typing import NDArray

from inventory.pictures import decoders, fitting, preparing
from tests.counts import counts

MODULE = 2.3  # px
TEXT = "SN0123456789"


def bars(text: str = TEXT, kind: str = "Code128") -> NDArray[np.float64]:
    """1 for dark, module by module, no quiet zone."""
    symbol = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, kind))
    row = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False))[0]
    return (row < 128).astype(float)


def seen(dark: NDArray[np.float64], blur: float = 2.0, noise: float = 1.0) -> NDArray[np.float64]:
    """The line across it as a camera sees it: grey levels, px by px; blur in px, sigma."""
    fine = 10
    wide = np.pad(np.repeat(dark, fine), 12 * fine)
    step = MODULE / fine
    size = int(len(wide) * step)
    light = cv2.resize(220 - 180 * wide[None], (size, 1), interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(light, (0, 0), blur, borderType=cv2.BORDER_REPLICATE)[0]
    return np.asarray(soft + np.random.default_rng(1).normal(0, noise, size))


def text_of(fit: fitting.Fit | None) -> str:
    """What zxing-cpp reads of the fitted bars."""
    if fit is None:
        return ""
    row = np.kron(np.pad(fit.modules, 10), np.ones(3))
    clean = np.tile(np.where(row > 0, 0, 255).astype(np.uint8), (40, 1))
    return decoders.zxing(preparing.raw(clean))[0].text


@pytest.mark.parametrize("text", [TEXT, "ab-12/XY", "99990000", "A1B2", "952123456789012345678901"])
def test_a_blur_wider_than_the_bars_is_no_hindrance(text) -> None:
    """A sigma of 0.87 modules; zxing-cpp by itself reads none of it."""
    line = seen(bars(text))
    plain = np.tile(np.clip(line, 0, 255).astype(np.uint8), (60, 1))
    assert decoders.zxing(preparing.raw(plain)) == []
    assert decoders.zxing(preparing.doubled(plain)) == []

    fit = fitting.fitted(line)
    assert text_of(fit) == text
    assert fit is not None
    assert fit.begin == pytest.approx(12 * MODULE, abs=1)
    assert fit.end == pytest.approx(len(line) - 12 * MODULE, abs=1)


def test_a_code_upside_down_is_read_from_its_other_end() -> None:
    """Its begin lies on the right."""
    fit = fitting.fitted(seen(bars())[::-1])

    assert text_of(fit) == TEXT
    assert fit is not None
    assert fit.begin > fit.end


def test_glare_that_leaves_a_fifth_of_the_print_is_fitted_too() -> None:
    """Light comes up towards the middle and the print pales."""
    line = seen(bars(), 1.9)
    part = np.linspace(-1, 1, len(line))
    left = 1 - 0.8 * np.exp(-(part**2) / 0.3)

    assert text_of(fitting.fitted(255 - (255 - line) * left)) == TEXT


def glared(
    line: NDArray[np.float64], middle: float, strength: float, wide: float
) -> NDArray[np.float64]:
    """The line of `seen` under a spot of glare on white and dark, that the sensor tells to 232."""
    part = np.linspace(0, 1, len(line))
    spot = strength * np.exp(-((part - middle) ** 2) / (2 * wide**2))
    white, dark = np.minimum(232, 220 + spot), np.minimum(232, 40 + spot)
    noise = np.random.default_rng(1).normal(0, 1, len(line))
    return np.asarray(white - (white - dark) * (220 - line) / 180 + noise)


def test_symbols_that_glare_made_mistaken_are_fitted_under_a_spot_of_it(monkeypatch) -> None:
    """Even changes of light and print bear out what was taken for the symbols; a spot does not."""
    line = glared(seen(bars(), noise=0), 0.5, 160, 0.15)
    monkeypatch.setattr(fitting, "DOUBTED", 0)
    monkeypatch.setattr(fitting, "HIDDEN", 0)

    assert text_of(fitting.fitted(line)) == TEXT
    monkeypatch.setattr(fitting, "SPOTTED", 0)
    assert fitting.fitted(line) is None


def test_a_first_bar_that_glare_hides_is_looked_for(monkeypatch) -> None:
    """The bars seem to begin a symbol later."""
    line = glared(seen(bars(), noise=0), 0.08, 180, 0.12)

    assert text_of(fitting.fitted(line)) == TEXT
    monkeypatch.setattr(fitting, "HIDDEN", 0)
    assert fitting.fitted(line) is None


def test_symbols_are_doubted_where_glare_is_no_spot(monkeypatch) -> None:
    """Print pales and white stays as it is."""
    line = seen(bars(), noise=1.5)
    part = np.linspace(0, 1, len(line))
    pale = 255 - (255 - line) * (1 - 0.9 * np.exp(-((part - 0.6) ** 2) / (2 * 0.2**2)))
    monkeypatch.setattr(fitting, "SPOTTED", 0)
    monkeypatch.setattr(fitting, "HIDDEN", 0)

    assert text_of(fitting.fitted(pale)) == TEXT
    monkeypatch.setattr(fitting, "DOUBTED", 0)
    assert fitting.fitted(pale) is None


def test_lines_that_lean_are_put_upon_each_other() -> None:
    """Over 3 px from the first to the last at one end, and the other way at the other end."""
    at = np.arange(len(seen(bars())))
    wide = at / len(at) - 0.5
    lines = [
        np.interp(at + up * (1 + 5 * wide), at, seen(bars()))
        for up in (-0.375, -0.125, 0.125, 0.375)
    ]
    fit = fitting.fitted(np.stack(lines))

    assert text_of(fit) == TEXT
    assert fit is not None
    assert fit.misfit < 0.04


def test_lines_with_glare_in_different_parts_are_weighed_together() -> None:
    """Each line has glare over half of it that leaves next to nothing of the bars."""
    line = seen(bars(), 1.9)
    left = 1 / (1 + np.exp(-np.linspace(-6, 6, len(line))))
    upper, lower = 240 - (240 - line) * left, 240 - (240 - line) * (1 - left)

    assert fitting.fitted(upper) is None
    assert fitting.fitted(lower) is None
    assert text_of(fitting.fitted(np.stack([upper, lower]))) == TEXT


def test_a_piece_beyond_glare_belongs_to_the_code() -> None:
    """A gap of some bars that nothing is left of but a shade; the longer piece is not all."""
    line = seen(bars(), 1.9, noise=0.3)
    part = np.linspace(0, 1, len(line))
    left = 1 - 0.97 * np.exp(-((part - 0.55) ** 2) / (2 * 0.06**2))
    ends = list(fitting._ends(255 - (255 - line) * left))

    begin, end = min(first for first, _ in ends), max(last for _, last in ends)
    assert begin == pytest.approx(12 * MODULE, abs=2)
    assert end == pytest.approx(len(line) - 12 * MODULE, abs=2)


def test_a_wrong_check_character_is_not_put_right() -> None:
    """Bars of a data character changed for another's: they fit, and do not count."""
    dark = bars()
    other = np.array([[sign == "1" for sign in row] for row in code128.CODES])[17]
    assert not np.array_equal(dark[33:44], other)
    dark[33:44] = other

    assert fitting.fitted(seen(dark)) is None


@pytest.mark.parametrize("text", ["SN8086309655", TEXT])
def test_a_stop_that_is_not_there_is_no_glare(text) -> None:
    """All of the text's symbols are seen; a label that was torn off there may have had more."""
    assert fitting.fitted(seen(bars(text)[:-12], 1.5)) is None


@pytest.mark.parametrize(
    ("text", "kind"),
    [("9521234543213", "EAN13"), ("A123456", "Code39"), ("19521234543210", "ITF")],
)
def test_bars_of_other_codes_are_no_code_128(text, kind) -> None:
    """Sharp or blurred."""
    for blur in (0.8, 2.0):
        assert fitting.fitted(seen(bars(text, kind), blur)) is None


def test_pieces_of_a_code_and_bars_of_no_code_are_not_read() -> None:
    """Random bars, and codes that lack some bars at one end: what a guess would make a text of."""
    rng = np.random.default_rng(5)
    for turn in range(counts(4, 250)):
        whole = bars(f"SN{rng.integers(10**10):010}")
        cut = int(rng.integers(3, 60))
        piece = whole[cut:] if turn % 2 else whole[:-cut]
        noise = np.repeat(rng.integers(0, 2, 70), rng.integers(1, 4, 70)).astype(float)
        for dark in (piece, noise):
            assert fitting.fitted(seen(dark, float(rng.uniform(0.8, 2.6)))) is None
