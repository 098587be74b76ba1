"""Square codes are read under a blur that leaves no module to be seen, and nothing that is none.

The codes are drawn by zxing-cpp; it reads none of these pictures by itself.
"""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from inventory.pictures import decoders, preparing, squares
from tests.counts import counts
from tests.pictures import walls

TEXTS = {"qr": "https://x.example/A1B2C3D4", "datamatrix": "ABCDEFGH1234"}
SIZES = {"qr": 25, "datamatrix": 16}  # modules of a side
SIDE = 170  # px of a place


def seen(
    kind: str,
    *,
    turn: float = 3.0,
    glare: float = 0.0,
    noise: float = 10.0,
    at: tuple[float, float] = (0.62, 0.4),
) -> preparing.Grey:
    """A label of 3 px a module, blurred by lens and hand, aslant; glare: grey levels, in a spot at
    these shares of its width and height."""
    label = walls.drawn(kind, TEXTS[kind], 3.0 / walls.SQUARE)
    high, wide = label.shape
    y, x = np.mgrid[:high, :wide]
    spot = np.exp(-((x - at[0] * wide) ** 2 + (y - at[1] * high) ** 2) / (2 * (0.16 * wide) ** 2))
    there = cv2.getRotationMatrix2D((wide / 2, high / 2), turn, 1)
    there[:, 2] += SIDE / 2 - wide / 2, SIDE / 2 - high / 2
    lit = np.minimum(255, label + glare * spot).astype(np.float32)
    scene = cv2.warpAffine(lit, there, (SIDE, SIDE), flags=cv2.INTER_AREA, borderValue=(150,))
    soft = cv2.GaussianBlur(scene * 0.8, (0, 0), sigmaX=1.85, sigmaY=1.55)
    grain = np.random.default_rng(2).normal(0, noise, soft.shape)
    return np.clip(soft + grain, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("kind", TEXTS)
@pytest.mark.parametrize(("turn", "glare"), [(3, 0), (-94, 0), (172, 200)])
def test_a_blur_over_modules_and_glare_are_no_hindrance(kind, turn, glare) -> None:
    """Whichever way up it lies; its box lies where the code is."""
    place = seen(kind, turn=turn, glare=glare)
    assert decoders.zxing(preparing.raw(place)) == decoders.zxing(preparing.doubled(place)) == []

    [hit] = squares.read(place, squares.Hand())
    assert hit.text == TEXTS[kind]
    x, y, wide, high = hit.box
    assert (x + wide / 2, y + high / 2) == pytest.approx((SIDE / 2, SIDE / 2), abs=4)
    assert wide == pytest.approx(SIZES[kind] * 3.0, rel=0.25)


@pytest.mark.parametrize(("kind", "glare"), [("qr", 280), ("datamatrix", 240)])
def test_a_strong_spot_of_glare_is_fitted_in_several_turns(kind, glare, monkeypatch) -> None:
    """Print and spot tell each other better with every turn; a few turns read neither."""
    place, hand = seen(kind, glare=glare, noise=13.0), squares.Hand()
    hand.kinds[{"qr": "QR", "datamatrix": "DataMatrix"}[kind], SIZES[kind]] = 1
    monkeypatch.setattr(squares, "DOUBTED", 0)
    with monkeypatch.context() as few:
        few.setattr(squares, "SPOTS", 2)
        assert squares.read(place, hand, known=True) == []

    [hit] = squares.read(place, hand, known=True)
    assert hit.text == TEXTS[kind]


def test_corners_are_moved_to_what_is_under_the_spot(monkeypatch) -> None:
    """A label of a wall whose corner was found a module off, in glare."""
    wall = walls.wall(60, "hard", 42)
    text = "4UCEJR97T8V3"
    x, y, wide, high = wall.boxes[wall.texts.index(text)]
    grey = cv2.imdecode(np.frombuffer(wall.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    place = np.asarray(grey[y - 18 : y + high + 18, x - 18 : x + wide + 18], np.uint8)
    hand = squares.Hand([np.array([3.4, 2.5, -0.4])])
    hand.kinds["DataMatrix", 16] = 1

    assert [hit.text for hit in squares.read(place, hand, known=True)] == [text]
    monkeypatch.setattr(squares, "STILL", squares.SPOTS)
    assert squares.read(place, hand, known=True) == []


@pytest.mark.parametrize("kind", ["QR", "DataMatrix"])
def test_faults_beyond_what_the_code_mends_are_mended_where_the_fit_is_unsure(kind) -> None:
    """One module too many is wrong; where the others that are wrong were sure, nothing is read."""
    drawing = {"QR": "qr", "DataMatrix": "datamatrix"}[kind]
    fits = squares.fits(seen(drawing), squares.Hand(), [(kind, SIZES[drawing])])
    grid = next(grid for _, grid, _ in fits if squares.decoded(kind, grid))
    hard, free = grid.hard.copy(), np.flatnonzero(np.isfinite(grid.cost))
    turned: list[int] = []
    for module in np.random.default_rng(1).permutation(free).tolist():
        hard.flat[module] = 1 - hard.flat[module]
        turned.append(module)
        if not squares.decoded(kind, replace(grid, hard=hard)):
            break
    assert len(turned) > 5

    def read(unsure: list[int]) -> list[str]:
        cost = np.where(np.isfinite(grid.cost), 9.0, np.inf)
        cost.flat[unsure] = 1.0
        found = squares.doubted(kind, replace(grid, hard=hard, cost=cost))
        return [hit.text for hit in found]

    assert read(turned) == [TEXTS[drawing]]
    assert read(turned[-1:]) == []


def test_what_was_read_tells_blur_and_kind_of_the_next() -> None:
    """The blur is the lens's and the hand's; asked for known kinds, others are not looked for."""
    hand = squares.Hand()
    assert squares.read(seen("qr"), hand)

    assert hand.kinds == {("QR", 25): 1}
    assert hand.blur[:2] == pytest.approx([1.85**2, 1.55**2], abs=0.4)
    assert squares.read(seen("datamatrix"), hand, known=True) == []
    assert squares.read(seen("qr", turn=90), hand, known=True)
    assert squares.read(seen("datamatrix"), hand)


def test_what_is_no_code_gives_nothing() -> None:
    """Random modules with the fixed ones of a kind about them, and noise: error correction says no.

    Source: ISO/IEC 16022 and 18004, Reed-Solomon codes: a random word is near a code word once in
    10^9 (QR 25 and Data Matrix 16; the number of words within reach over that of all).
    """
    rng = np.random.default_rng(4)
    for turn in range(counts(1, 300)):
        size = 16 if turn % 2 == 0 else 25
        dark = rng.integers(0, 2, (size, size)).astype(float)
        kind = "DataMatrix" if turn % 2 == 0 else "QR"
        fixed = squares.patterns.fixed(kind, size)
        dark = np.pad(np.where(np.isnan(fixed), dark, fixed), 4)
        label = 230 - 190 * np.kron(dark, np.ones((3, 3)))
        scene = np.pad(label, (SIDE - len(label)) // 2, constant_values=150).astype(np.float32)
        soft = cv2.GaussianBlur(scene, (0, 0), 1.6) + rng.normal(0, 10, scene.shape)
        assert squares.read(np.clip(soft, 0, 255).astype(np.uint8), squares.Hand()) == []
    assert squares.read(rng.integers(0, 255, (SIDE, SIDE)).astype(np.uint8), squares.Hand()) == []
    assert squares.read(np.full((SIDE, SIDE), 128, np.uint8), squares.Hand()) == []
