"""Light and print along a line code, fitted to lines across its bars where its symbols are known.

Two ways: even changes along each line, which glare of any shape can have and mistaken symbols too;
and one spot of glare over all lines, see inventory.pictures.glare, whose few figures bear out no
mistaken symbols.
"""

from dataclasses import dataclass
from functools import cache
from math import sqrt
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from inventory.pictures import glare, weighing
from inventory.pictures.weighing import ENDED, FINE, GROUND, WIDE

Floats = NDArray[np.floating[Any]]

EVEN: Final = 18  # modules over which light and print change evenly
PALE: Final = 1.0  # grey levels: the least darkness of print under a spot


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """A fit as far as it has come."""

    place: Floats
    """Where it begins, where it ends, how far it bends between; how far the lines lean from the
    first to the last, and by how much more at the end than at the begin: px. Its blur: modules,
    sigma."""
    symbols: tuple[int, ...]

    @property
    def blur(self) -> float:
        """Modules, sigma."""
        return float(self.place[-1])


@dataclass(frozen=True, slots=True, eq=False)
class Levelled:
    """Lines seen through a place, as columns of samples, with the light and print that fit."""

    seen: Floats  # grey levels
    drawn: Floats  # the blurred symbols, 0 to 1, the same in all lines
    light: Floats  # grey levels
    print: Floats  # how much darker dark is

    @property
    def left(self) -> Floats:
        """What is left of the lines."""
        return self.seen - self.light + self.print * self.drawn[:, None]

    @property
    def dark(self) -> tuple[Floats, Floats]:
        """How dark each sample is, 0 to 1, by all lines together, and its weight, mostly 1."""
        print_ = np.maximum(self.print, max(0.1 * float(np.median(self.print)), 1.0))
        weight = (print_**2).sum(1)
        dark = (print_ * (self.light - self.seen)).sum(1) / weight
        return np.asarray(dark), np.asarray(weight / np.median(weight))

    @property
    def unlike(self) -> float:
        """What the fit leaves of the lines, 0 to 1: of the differences within them."""
        return float(np.square(self.left).mean() / max(float(self.seen.var()), 1e-9))

    def worst(self, symbols: int) -> float:
        """What is left of the worst of so many symbols or the ground, in shares of the print's
        darkness there."""
        borders = [(GROUND + i * WIDE) * FINE for i in range(symbols)] + [-GROUND * FINE]
        strength = np.sqrt((self.print**2).sum(1))
        left = (self.print * self.left).sum(1) / np.maximum(strength, 1e-3)
        # Where the print of some lines comes out as light, it is no print.
        dark = self.print.sum(1) / sqrt(self.print.shape[1])
        pieces = zip(np.split(left, borders), np.split(dark, borders), strict=True)
        return max(sqrt(float((rest**2).mean())) / max(float(d.mean()), 1e-3) for rest, d in pieces)


def even(
    lines: Floats, state: State, doubted: tuple[int, int] = (0, 0), stiff: float = 0.0
) -> Levelled:
    """Light and print that fit the symbols best, but for the doubted ones: first, after the last.

    Between places of a raster; each line has its own.
    """
    seen = sampled(lines, state.place, len(state.symbols) - 1)
    drawn = weighing.drawn(state.symbols, state.blur, len(seen))
    hats = _hats(len(seen))
    ways = np.concatenate([hats, -hats * drawn[:, None]], 1)
    told = ways
    squares = 1e-6 * np.eye(ways.shape[1])
    if any(doubted):
        first, after = doubted
        told = ways.copy()
        told[(GROUND + first * WIDE - 1) * FINE : (GROUND + after * WIDE + 1) * FINE] = 0
        bends = stiff * len(seen) / hats.shape[1] * _stiffness(hats.shape[1])
        squares += np.kron(np.eye(2), bends)
    squares += told.T @ ways
    levels, darks = np.split(np.linalg.solve(squares, told.T @ seen), 2)
    return Levelled(seen, drawn, hats @ levels, hats @ darks)


def spotted(lines: Floats, state: State, high: float) -> Levelled:
    """The same under one spot of glare; high: px, of the bars from the first line to the last."""
    seen = sampled(lines, state.place, len(state.symbols) - 1)
    drawn = weighing.drawn(state.symbols, state.blur, len(seen))
    tall = high / float(state.place[1] - state.place[0])
    white, dark = glare.lit(seen.T, np.broadcast_to(drawn, seen.T.shape), tall)
    return Levelled(seen, drawn, white.T, np.maximum(white - dark, PALE).T)


def sampled(lines: Floats, place: Floats, count: int) -> Floats:
    """The lines as columns, FINE samples a module, GROUND modules of ground on either side."""
    modules, rows = WIDE * count + ENDED, np.arange(len(lines))[:, None]
    part = ((np.arange((modules + 2 * GROUND) * FINE) + 0.5) / FINE - GROUND) / modules
    begin, end, bend, lean, fan = place[:5]
    x = begin + (end - begin) * part + bend * 4 * part * (1 - part) - 0.5
    x = x + (rows - (len(lines) - 1) / 2) / len(lines) * (lean + fan * (part - 0.5))
    x = np.clip(x, 0, lines.shape[1] - 1)
    left = np.minimum(x.astype(int), lines.shape[1] - 2)
    share = x - left
    return np.asarray((lines[rows, left] * (1 - share) + lines[rows, left + 1] * share).T)


@cache
def _stiffness(places: int) -> Floats:
    """The sum of squares of bends between three neighbours, as a matrix."""
    bends = np.diff(np.eye(places), 2, axis=0)
    return np.asarray(bends.T @ bends)


@cache
def _hats(samples: int) -> Floats:
    """What each place, EVEN modules apart, bears on each sample."""
    places = max(3, round(samples / FINE / EVEN) + 1)
    at = np.linspace(0, places - 1, samples)[:, None]
    return np.asarray(np.maximum(0, 1 - np.abs(at - np.arange(places))))
