"""A square code read by fitting it: which kind, which size, which way up, and then every module.

Where modules are hardly wider than the blur, no decoder's sampling tells them apart, but all of
them together with their blur, light and print still differ from any others. What is fixed in a
kind of code says which kind and size lies there and where exactly; the rest is fitted, see
inventory.pictures.grids, drawn clean and decoded. The code's own error correction judges the
result.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from inventory.pictures import decoders, framing, grids, patterns
from inventory.pictures.grids import Grid, Turn
from inventory.pictures.hit import Hit
from inventory.pictures.preparing import Grey, Prepared

Floats = NDArray[np.floating[Any]]

NARROWEST, WIDEST = 1.6, 8.0  # px of a module: no sampling tells less, more needs no fitting
TRIED: Final = 4  # of kinds, sizes and turns, those that look likest
FEW: Final = 2  # the same where few kinds are asked for
LIKE: Final = 0.65  # how like its fixed modules a place must be to be tried: 1 is wholly
WHITE, DRAWN = 4, 4  # a fitted code is drawn with so many modules of white, so many px a module

FINISHED: Final = 7  # places along a side, from which on what was decided may be whole
SPOTS: Final = 12  # turns in which light and print are those of one spot of glare
STILL: Final = 4  # of them, those in which the corners stay: most codes need no more
EVERY: Final = [(kind, size) for kind, sizes in patterns.SIZES.items() for size in sizes]

TURNS: Final = (
    Turn(3, 3, 1.0),
    Turn(3, 5, 1.0),
    Turn(4, 6, 1.0),
    Turn(4, 6, 0.5),
    Turn(4, 7, 0.3),
    Turn(4, 7, 0.2),
    Turn(4, 8, 0.1),
    Turn(4, 8, 0.1, hard=True),
    Turn(4, 8, 0.1, hard=True),
)
"""Coarse to fine: light drawn too finely at once is mistaken for modules."""


LEARNT: Final = TURNS[4]
"""How light is drawn where the blur is fitted to a code that was read."""


@dataclass(slots=True)
class Hand:
    """What codes of one picture have in common: one hand, one lens, and mostly one printer."""

    blurs: list[Floats] = field(default_factory=list)  # px^2, of codes that were read
    kinds: Counter[tuple[str, int]] = field(default_factory=Counter)  # and their kinds and sizes

    @property
    def blur(self) -> Floats:
        """The blur to begin with: variance to the right, downwards, covariance, px^2."""
        return np.median(self.blurs, axis=0) if self.blurs else np.array([2.8, 2.8, 0.0])

    def learn(self, kind: str, place: Floats, grid: Grid) -> None:
        """Take the blur and the kind of a code that was read."""
        self.blurs.append(grids.blurred(place, grid, LEARNT))
        self.kinds[kind, len(grid.fixed)] += 1


def read(place: Grey, hand: Hand, *, known: bool = False) -> list[Hit]:
    """The square code that fits the place, in px of it; its blur and kind are added to `hand`.

    known: only of kinds and sizes that were read already, which takes a fourth of the time.
    """
    kinds = list(hand.kinds) if known else EVERY
    for kind, grid in _fitted(place, hand, kinds):
        hits = [hit for hit in decoders.zxing(_clean(grid)) if hit.symbology.endswith(kind)]
        if hits:
            hand.learn(kind, place.astype(np.float32), grid)
            return hits
    return []


def _fitted(
    place: Grey, hand: Hand, kinds: Sequence[tuple[str, int]]
) -> Iterator[tuple[str, Grid]]:
    """Kinds and modules that the place could show, likest first, each better with every turn."""
    pixels = place.astype(np.float32)
    tried = TRIED if len(kinds) > TRIED else FEW
    for corners in framing.squares(place):
        looks = sorted(_looks(pixels, corners, hand, kinds), key=lambda look: -look[0])
        for like, kind, grid in looks[:tried]:
            if like >= LIKE:
                yield from ((kind, better) for better in _turned(pixels, grid))


def _turned(pixels: Floats, begun: Grid) -> Iterator[Grid]:
    """The fit after each turn from which on it may be whole."""
    grid = grids.decided(begun)
    for turn in TURNS:
        grid = grids.fitted(pixels, grid, turn)
        if turn.print >= FINISHED:
            yield grid
    for spot in range(SPOTS):
        grid = grids.unglared(pixels, grid, moving=spot >= STILL, last=spot == SPOTS - 1)
        yield grid


def _looks(
    pixels: Floats, corners: Floats, hand: Hand, kinds: Sequence[tuple[str, int]]
) -> Iterator[tuple[float, str, Grid]]:
    """How like each kind, size and turn the place is, with its corners moved to fit that."""
    side = float(np.linalg.norm(corners[1] - corners[0]))
    for kind, size in kinds:
        if NARROWEST <= side / size <= WIDEST:
            for turn in range(4):
                turned = np.roll(corners, turn, axis=0)
                grid = grids.begun(pixels, turned, hand.blur, patterns.fixed(kind, size))
                yield grid.likeness, kind, grid


def _clean(grid: Grid) -> Prepared:
    """The modules drawn for a decoder, white round them, and the way back to the place."""
    modules = np.pad(grid.hard, WHITE)
    pixels = np.where(np.kron(modules, np.ones((DRAWN, DRAWN))) > 0, 0, 255).astype(np.uint8)
    return Prepared(pixels, _back(grid))


def _back(grid: Grid) -> NDArray[np.float64]:
    """2 x 3: px of the clean drawing -> px of the place, as if the code were not seen aslant."""
    corners, size = grid.corners, len(grid.fixed)
    along, down = corners[1] - corners[0], corners[3] - corners[0]
    flat = np.stack([along, down], 1) / (size * DRAWN)
    return np.column_stack([flat, corners[0] - flat @ np.full(2, WHITE * DRAWN)])
