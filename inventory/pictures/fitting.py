"""A Code 128 read by fitting it: the bars which, blurred, come nearest to what the picture shows.

Where bars are narrower than the blur no edge is left to follow, but the sum of neighbouring bars
still differs from text to text, and all texts are weighed at once, see inventory.pictures.weighing.
Light and print are fitted along the code too, which takes out glare and shadow; but once symbols
are mistaken, light and print fitted to them bear them out. So a fit that is not sure is doubted:
light and print are told by some of its symbols alone, and what fits better then is taken. The check
character chooses nothing here: a code whose best fit fails it is not read.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from math import sqrt
from operator import itemgetter
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures import weighing
from inventory.pictures.weighing import DATA, ENDED, FINE, GROUND, STOP, WIDE

Floats = NDArray[np.floating[Any]]

FEWEST, MOST = 4, 30  # symbols before the stop
NARROWEST, WIDEST = 1.2, 6.0  # px of a module: no sampling tells less, more needs no fitting
BLURS: Final = (0.45, 0.65, 0.85)  # modules, sigma: the first guesses
EVEN: Final = 18  # modules over which light and print change evenly
ROUNDS: Final = 5
TRIED: Final = 3  # numbers of symbols and blurs, the best of the first look, that are fitted well
FAINT: Final = (0.25, 0.12, 0.06)  # of the strong edges: the first and last bar may lie in glare
DOUBTED: Final = 2  # of the fits that are not sure, those whose symbols are doubted by turns
UNLIKE: Final = 0.08  # what they may leave: bars of no Code 128 leave more
DOUBTS: Final = 4  # neighbouring symbols that can bear out one another
DOUBTINGS: Final = 2  # one mends what can be mended (over 3 walls), one more to be sure
LIKEST: Final = 3  # of the texts found so, those to which place, light and print are fitted
BETTER: Final = 0.995
STIFF: Final = (0.0003, 0.01)  # how evenly light and print change where symbols are doubted
GAPS: Final = (12, 8)  # px between edges; a white label's own edge is ten modules away
LONG: Final = 0.2  # of the longest stretch: what is shorter is no piece of the code beyond glare
NEAR: Final = 0.09  # of the code's length, round which light and dark are looked for at first

# Over 218 line codes of walls 60 hard the right text had at most 0.15 and at least 19; a piece of a
# code that ends in glare had 0.36 and 423, all other wrong ones a margin of at most 90 with more
# than 0.2 (27 Nov 2026).
MISFIT: Final = 0.15
"""Of the print's darkness, that a fit leaves at most in any symbol or ground (root mean square)."""
MARGIN: Final = 40.0
"""How much worse the next best text must fit, in variances of what the fit leaves."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The symbols that fit best, and how well."""

    symbols: tuple[int, ...]  # start, data, check character, stop
    begin: float  # px of the profile: where the first bar begins
    end: float  # and the last one ends; before `begin` where the code runs from right to left
    misfit: float
    margin: float

    @property
    def sure(self) -> bool:
        """Whether it can be believed: fits well, alone, and its check character is right."""
        total = self.symbols[0] + sum(i * s for i, s in enumerate(self.symbols[1:-2], 1))
        checked = total % DATA == self.symbols[-2]
        return checked and self.misfit <= MISFIT and self.margin >= MARGIN

    @property
    def modules(self) -> NDArray[np.bool_]:
        """Dark or not, module by module, no quiet zones."""
        rows = [weighing.patterns()[s][:WIDE] for s in self.symbols[:-1]]
        return np.concatenate([*rows, weighing.patterns()[STOP]]) > 0


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """A fit as far as it has come."""

    place: Floats  # begin, end, bend in px; blur in modules, sigma
    symbols: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Levelled:
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


def fitted(lines: Floats, *, doubting: bool = True) -> Fit | None:
    """The code in one or more lines across upright bars, all at one place; None where none is sure.

    lines: grey levels, line by line, px by px. doubting: what is not sure is given up only after
    its symbols were doubted, which takes as long again, and longer where there is no code.
    """
    lines = np.atleast_2d(lines)
    doubtful: list[tuple[float, _State, Floats]] = []
    for begin, end in _ends(lines.mean(axis=0)):
        for likely, way in _likely(lines, begin, end):
            state = _settled(way, likely)
            if (fit := _fit(way, state)).sure:
                return _there(fit, way, lines)
            if doubting and (unlike := _unlike(way, state)) <= UNLIKE:
                doubtful.append((unlike, state, way))
    likest: dict[tuple[int, ...], tuple[_State, Floats]] = {}
    for _, state, way in sorted(doubtful, key=itemgetter(0)):
        likest.setdefault(state.symbols, (state, way))
    for state, way in list(likest.values())[:DOUBTED]:
        if (fit := _fit(way, _doubted(way, state))).sure:
            return _there(fit, way, lines)
    return None


def _there(fit: Fit, way: Floats, lines: Floats) -> Fit:
    """The fit in px of the lines, from which end so ever it was read."""
    if way is lines:
        return fit
    size = lines.shape[1]
    return replace(fit, begin=size - fit.begin, end=size - fit.end)


def _ends(profile: Floats) -> Iterator[tuple[float, float]]:
    """Where the bars could begin and end, in px: the longest stretch of edges without a gap."""
    slope = np.gradient(cv2.GaussianBlur(profile[None].astype(np.float32), (0, 0), 1.0)[0])
    told = set()
    for faint, gap in product(FAINT, GAPS):
        edges = np.flatnonzero(np.abs(slope) > faint * np.percentile(np.abs(slope), 95))
        pieces = [p for p in np.split(edges, np.flatnonzero(np.diff(edges) > gap) + 1) if len(p)]
        longest = max(pieces, key=np.ptp, default=np.zeros(1, int))
        long = [piece for piece in pieces if np.ptp(piece) >= LONG * np.ptp(longest)] or [longest]
        for first, last in ((longest[0], longest[-1]), (long[0][0], long[-1][-1])):
            begin = first + int(np.argmin(slope[first : first + 8])) + 0.5
            end = last - 7 + int(np.argmax(slope[max(0, last - 7) : last + 1])) + 0.5
            if (begin, end) not in told:
                told.add((begin, end))
                yield begin, end


def _likely(lines: Floats, begin: float, end: float) -> Iterator[tuple[_State, Floats]]:
    """What the lines look most like, read from either end, and the lines from that end."""
    size = lines.shape[1]
    ways = ((lines, begin, end), (lines[:, ::-1], size - end, size - begin))
    looks = sorted((*look, turned) for turned, way in enumerate(ways) for look in _looks(*way))
    told = set()
    for _, blur, symbols, turned in looks[:TRIED]:
        if (symbols, turned) in told:
            continue
        told.add((symbols, turned))
        way, first, last = ways[turned]
        yield _State(np.array([first, last, 0.0, blur]), symbols), way


def _looks(
    lines: Floats, begin: float, end: float
) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """The misfit of each number of symbols and each blur, with the symbols that fit best."""
    dark = _share(lines, end - begin)
    for count in range(FEWEST, MOST + 1):
        if not NARROWEST <= (end - begin) / (WIDE * count + ENDED) <= WIDEST:
            continue
        seen = _sampled(dark, np.array([begin, end, 0.0]), count)[:, 0]
        for blur in BLURS:
            symbols, least = weighing.best(seen, np.ones_like(seen), blur)
            yield (least + float((seen**2).sum())) / len(seen), blur, symbols


def _share(lines: Floats, span: float) -> Floats:
    """How dark each px is between the light and the dark round it, as one line."""
    wide = max(5, round(NEAR * span)) | 1
    rows, window = lines.astype(np.float32), np.ones((1, wide), np.uint8)
    light = cv2.blur(cv2.dilate(rows, window), (wide, 1))
    print_ = np.maximum(light - cv2.blur(cv2.erode(rows, window), (wide, 1)), 3)
    shares = np.clip((light - rows) / print_, -0.3, 1.3)
    return np.asarray((shares * print_**2).sum(0) / (print_**2).sum(0))[None]


def _settled(lines: Floats, state: _State) -> _State:
    """Place, blur and symbols made to fit by turns.

    The place and the blur by Gauss and Newton's method (Source: C. F. Gauss, Theoria motus, 1809).
    """
    steps, most = np.array([0.05, 0.05, 0.05, 0.02]), np.array([0.6, 0.6, 0.6, 0.2])
    for turn in range(ROUNDS):
        for _ in range(2):
            place = state.place
            left = _levelled(lines, state).left.ravel()
            tries = [replace(state, place=place + way) for way in np.diag(steps)]
            slopes = np.stack([_levelled(lines, one).left.ravel() - left for one in tries], 1)
            slopes /= steps
            better = np.linalg.lstsq(slopes.T @ slopes, -slopes.T @ left, rcond=None)[0]
            place = place + np.clip(better, -most, most)
            place[3] = np.clip(place[3], 0.25, 1.4)
            state = replace(state, place=place)
        symbols, _ = weighing.best(*_levelled(lines, state).dark, float(state.place[3]))
        if symbols == state.symbols and turn:
            break
        state = replace(state, symbols=symbols)
    return state


def _fit(lines: Floats, state: _State) -> Fit:
    """How well the symbols fit."""
    levelled = _levelled(lines, state)
    dark, weight = levelled.dark
    margin = weighing.margin(dark, weight, float(state.place[3]))
    noise = float((weight * (dark - levelled.drawn) ** 2).mean())
    misfit = _worst(levelled, len(state.symbols) - 1)
    begin, end = state.place[:2].tolist()
    return Fit(state.symbols, begin, end, misfit, margin / max(noise, 1e-9))


def _doubted(lines: Floats, state: _State) -> _State:
    """The fit with other symbols, as long as they leave less of the lines.

    Where symbols are mistaken, light and print fitted to them bear them out.
    """
    least = _unlike(lines, state)
    for _ in range(DOUBTINGS):
        others = [replace(state, symbols=symbols) for symbols in _others(lines, state)]
        likest = sorted(others, key=lambda other: _unlike(lines, other))[:LIKEST]
        settled = [_settled(lines, other) for other in likest]
        better = min(settled, key=lambda other: _unlike(lines, other), default=state)
        if _unlike(lines, better) >= BETTER * least:
            break
        least, state = _unlike(lines, better), better
    return state


def _others(lines: Floats, state: _State) -> set[tuple[int, ...]]:
    """Texts that fit best where light and print are told by some symbols alone, and texts that are
    nearly as good as the best.
    """
    blur = float(state.place[3])
    found = set(weighing.next_best(*_levelled(lines, state).dark, blur))
    for stiff, doubted in product(STIFF, _pieces(len(state.symbols))):
        found.add(weighing.best(*_levelled(lines, state, doubted, stiff).dark, blur)[0])
    return found - {state.symbols}


def _pieces(symbols: int) -> Iterator[tuple[int, int]]:
    """The first of a few neighbouring symbols and the one after the last, start and stop apart."""
    for many in range(1, DOUBTS + 1):
        for first in range(1, symbols - many):
            yield first, first + many


def _unlike(lines: Floats, state: _State) -> float:
    """What the fit leaves of the lines, 0 to 1: of the differences within them."""
    levelled = _levelled(lines, state)
    return float(np.square(levelled.left).mean() / max(float(levelled.seen.var()), 1e-9))


def _worst(levelled: _Levelled, count: int) -> float:
    """What is left of the worst symbol or ground, in shares of the print's darkness there."""
    borders = [(GROUND + i * WIDE) * FINE for i in range(count + 1)] + [-GROUND * FINE]
    print_ = levelled.print
    strength = np.sqrt((print_**2).sum(1))
    left = (print_ * levelled.left).sum(1) / np.maximum(strength, 1e-3)
    # Where the print of some lines comes out as light, it is no print.
    dark = print_.sum(1) / sqrt(print_.shape[1])
    pieces = zip(np.split(left, borders), np.split(dark, borders), strict=True)
    return max(sqrt(float((rest**2).mean())) / max(float(d.mean()), 1e-3) for rest, d in pieces)


def _levelled(
    lines: Floats, state: _State, doubted: tuple[int, int] = (0, 0), stiff: float = 0.0
) -> _Levelled:
    """Light and print that fit the symbols best, but for the doubted ones: first, after the last.

    Between places of a raster; each line has its own.
    """
    seen = _sampled(lines, state.place, len(state.symbols) - 1)
    drawn = weighing.drawn(state.symbols, state.place[3], len(seen))
    even = _hats(len(seen))
    ways = np.concatenate([even, -even * drawn[:, None]], 1)
    told = ways
    squares = 1e-6 * np.eye(ways.shape[1])
    if any(doubted):
        first, after = doubted
        told = ways.copy()
        told[(GROUND + first * WIDE - 1) * FINE : (GROUND + after * WIDE + 1) * FINE] = 0
        bends = stiff * len(seen) / even.shape[1] * _stiffness(even.shape[1])
        squares += np.kron(np.eye(2), bends)
    squares += told.T @ ways
    levels, darks = np.split(np.linalg.solve(squares, told.T @ seen), 2)
    return _Levelled(seen, drawn, even @ levels, even @ darks)


def _sampled(lines: Floats, place: Floats, count: int) -> Floats:
    """The lines as columns, FINE samples a module, GROUND modules of ground on either side."""
    modules = WIDE * count + ENDED
    part = ((np.arange((modules + 2 * GROUND) * FINE) + 0.5) / FINE - GROUND) / modules
    x = place[0] + (place[1] - place[0]) * part + place[2] * 4 * part * (1 - part) - 0.5
    x = np.clip(x, 0, lines.shape[1] - 1)
    left = np.minimum(x.astype(int), lines.shape[1] - 2)
    share = x - left
    return np.asarray((lines[:, left] * (1 - share) + lines[:, left + 1] * share).T)


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
