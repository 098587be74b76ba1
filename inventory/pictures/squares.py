"""A square code read by fitting it: which kind, which size, which way up, and then every module.

Where modules are hardly wider than the blur, no decoder's sampling tells them apart, but all of
them together with their blur, light and print still differ from any others. What is fixed in a
kind of code says which kind and size lies there and where exactly; the rest is fitted, see
inventory.pictures.grids, drawn clean and decoded. The code's own error correction judges the
result. Where it has more faults than it can mend, the modules that are least sure are turned over,
one and two at a time. What is read then is drawn anew and counts where this differs from the fit
only in modules that are unsure. Source: D. Chase, A class of algorithms for decoding block codes
with channel measurement information, IEEE Transactions on Information Theory 18, 1972.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain, combinations
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from inventory.pictures import decoders, framing, grids, patterns
from inventory.pictures.grids import Grid, Turn
from inventory.pictures.hit import Hit
from inventory.pictures.preparing import Grey, Prepared

Floats = NDArray[np.floating[Any]]

NARROWEST, WIDEST = 1.6, 8.0  # px of a module: no sampling tells less, more needs no fitting
TRIED: Final = 6  # of kinds, sizes and turns, those that look likest
FEW: Final = 4  # the same where few kinds are asked for
LIKE: Final = 0.65  # how like its fixed modules a place must be to be tried: 1 is wholly
WHITE, DRAWN = 4, 4  # a fitted code is drawn with so many modules of white, so many px a module

FINISHED: Final = 7  # places along a side, from which on what was decided may be whole
SPOTS: Final = 12  # turns in which light and print are those of one spot of glare
STILL: Final = 4  # of them, those in which the corners stay: most codes need no more
DOUBTED: Final = 40  # modules, the least sure, that are turned over by twos
UNSURE: Final = 0.25  # of the modules that the text decides, those that may differ from it
LEAST: Final = 16  # modules along a side: smaller codes mend anything into some text
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
    for kind, grid, last in fits(place, hand, kinds):
        if hits := decoded(kind, grid) or (doubted(kind, grid) if last else []):
            hand.learn(kind, place.astype(np.float32), grid)
            return hits
    return []


def fits(
    place: Grey, hand: Hand, kinds: Sequence[tuple[str, int]]
) -> Iterator[tuple[str, Grid, bool]]:
    """Kinds and modules that the place could show, likest first, each better with every turn; and
    whether it was the last."""
    pixels = place.astype(np.float32)
    tried = TRIED if len(kinds) > TRIED else FEW
    for corners in framing.squares(place):
        looks = sorted(_looks(pixels, corners, hand, kinds), key=lambda look: -look[0])
        for like, kind, grid in looks[:tried]:
            if like >= LIKE:
                for better, last in _turned(pixels, grid):
                    # What only looked like it loses its likeness as the fit gets better.
                    if better.likeness < LIKE:
                        break
                    yield kind, better, last


def _turned(pixels: Floats, begun: Grid) -> Iterator[tuple[Grid, bool]]:
    """The fit after each turn from which on it may be whole; and whether it was the last."""
    grid = grids.decided(begun)
    for turn in TURNS:
        grid = grids.fitted(pixels, grid, turn)
        if turn.print >= FINISHED:
            yield grid, False
    for spot in range(SPOTS):
        last = spot == SPOTS - 1
        grid = grids.unglared(pixels, grid, moving=spot >= STILL, last=last)
        yield grid, last


def decoded(kind: str, grid: Grid) -> list[Hit]:
    """What the modules say, where it is of that kind."""
    return [hit for hit in decoders.zxing(_clean(grid)) if hit.symbology.endswith(kind)]


def doubted(kind: str, grid: Grid) -> list[Hit]:
    """What they say with one or two of the least sure turned over, where the rest bears it out."""
    if len(grid.hard) < LEAST:
        return []
    order = np.argsort(grid.cost, axis=None)
    unsure = np.zeros(grid.hard.size, bool)
    unsure[order[: round(UNSURE * np.isfinite(grid.cost).sum())]] = True
    least = order[:DOUBTED].tolist()
    for turned in chain(combinations(least, 1), combinations(least, 2)):
        hard = grid.hard.copy()
        hard.flat[list(turned)] = 1 - hard.flat[list(turned)]
        other = replace(grid, hard=hard)
        if not (hits := decoded(kind, other)):
            continue
        anew = decoders.redrawn(_clean(other))
        if anew is None or anew.shape != hard.shape:
            continue
        if not (anew != grid.hard).ravel()[~unsure].any():
            return hits
    return []


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
