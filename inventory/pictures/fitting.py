"""A Code 128 read by fitting it: the bars which, blurred, come nearest to what the picture shows.

Where bars are narrower than the blur no edge is left to follow, but the sum of neighbouring bars
still differs from text to text, and all texts are weighed at once, see inventory.pictures.weighing.
Light and print are fitted along the code too, which takes out glare and shadow; but once symbols
are mistaken, light and print fitted to them bear them out. So a fit that is not sure is fitted anew
under one spot of glare, and at last doubted: light and print are told by some of its symbols alone,
and what fits better then is taken. The check character chooses nothing here: a code whose best fit
fails it is not read.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from operator import itemgetter
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures import levels, weighing
from inventory.pictures.levels import Levelled, State
from inventory.pictures.weighing import DATA, ENDED, STOP, WIDE

Floats = NDArray[np.floating[Any]]

FEWEST, MOST = 4, 30  # symbols before the stop
NARROWEST, WIDEST = 1.2, 6.0  # px of a module: no sampling tells less, more needs no fitting
BLURS: Final = (0.45, 0.65, 0.85)  # modules, sigma: the first guesses
ROUNDS: Final = 5
TRIED: Final = 3  # numbers of symbols and blurs, the best of the first look, that are fitted well
FAINT: Final = (0.25, 0.12, 0.06)  # of the strong edges: the first and last bar may lie in glare
DOUBTED: Final = 2  # of the fits that are not sure, those whose symbols are doubted by turns
SPOTTED: Final = 3  # of them, those that are fitted under a spot of glare
SPOTS: Final = 4  # turns of spot and symbols: most need one or two
HIDDEN: Final = 2  # symbols at either end that a spot can hide from the first look
UNLIKE: Final = 0.08  # what they may leave: bars of no Code 128 leave more
DOUBTS: Final = 4  # neighbouring symbols that can bear out one another
DOUBTINGS: Final = 2  # one mends what can be mended (over 3 walls), one more to be sure
LIKEST: Final = 3  # of the texts found so, those to which place, light and print are fitted
BETTER: Final = 0.995
STIFF: Final = (0.0003, 0.01)  # how evenly light and print change where symbols are doubted
GAPS: Final = (12, 8)  # px between edges; a white label's own edge is ten modules away
LONG: Final = 0.2  # of the longest stretch: what is shorter is no piece of the code beyond glare
STEPS: Final = np.array([0.05, 0.05, 0.05, 0.05, 0.05, 0.02])  # px and modules, to see a slope by
FARTHEST: Final = np.array([0.6, 0.6, 0.6, 0.6, 0.6, 0.2])  # in one step
BLURRED: Final = (0.25, 1.4)  # modules: what lens and hand can do
NEAR: Final = 0.09  # of the code's length, round which light and dark are looked for at first

# What is left of the worst symbol or ground at most, in shares of the print's darkness there (root
# mean square); and how much worse the next best text must fit, in variances of what the fit leaves.
# Over 460 line codes of 23 walls 60 hard, check characters left out of it, wrong texts fitted with
# even changes had 0.106 and more, those under a spot 0.127; none was told by both with less than
# 0.21 (28 Nov 2026).
ALONE: Final = (0.08, 40.0)
"""With even changes of light and print."""
SPOT: Final = (0.10, 15.0)
"""Under a spot of glare."""
BOTH: Final = (0.16, 15.0)
"""Either way, where both give the same text."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The symbols that fit best, and how well."""

    symbols: tuple[int, ...]  # start, data, check character, stop
    begin: float  # px of the profile: where the first bar begins
    end: float  # and the last one ends; before `begin` where the code runs from right to left
    misfit: float
    margin: float

    def sure(self, limits: tuple[float, float]) -> bool:
        """Whether it can be believed: fits well, alone, and its check character is right."""
        most, least = limits
        total = self.symbols[0] + sum(i * s for i, s in enumerate(self.symbols[1:-2], 1))
        checked = total % DATA == self.symbols[-2]
        return checked and self.misfit <= most and self.margin >= least

    @property
    def modules(self) -> NDArray[np.bool_]:
        """Dark or not, module by module, no quiet zones."""
        rows = [weighing.patterns()[s][:WIDE] for s in self.symbols[:-1]]
        return np.concatenate([*rows, weighing.patterns()[STOP]]) > 0


def fitted(lines: Floats, *, high: float = 0.0, doubting: bool = True) -> Fit | None:
    """The code in one or more lines across upright bars, all at one place; None where none is sure.

    lines: grey levels, line by line, px by px. high: px, of the bars. doubting: what is not sure is
    given up only after a spot of glare was fitted and its symbols were doubted, which takes as long
    again, and longer where there is no code.
    """
    lines = np.atleast_2d(lines)
    doubtful: list[tuple[float, State, Floats]] = []
    for begin, end in _ends(lines.mean(axis=0)):
        for likely, way in _likely(lines, begin, end):
            state = _settled(way, likely)
            levelled = levels.even(way, state)
            if (fit := _fit(levelled, state)).sure(ALONE):
                return _there(fit, way, lines)
            if doubting and levelled.unlike <= UNLIKE:
                doubtful.append((levelled.unlike, state, way))
    likest: dict[tuple[int, ...], tuple[State, Floats]] = {}
    for _, state, way in sorted(doubtful, key=itemgetter(0)):
        likest.setdefault(state.symbols, (state, way))
    for state, way in _tried(list(likest.values())):
        if agreed := _agreed(way, state, high):
            return _there(agreed, way, lines)
    return None


def _tried(likest: list[tuple[State, Floats]]) -> Iterator[tuple[State, Floats]]:
    """What may come out sure, and the lines it is in: these, longer ones, and doubted ones."""
    yield from likest[:SPOTTED]
    for state, way in likest[:1]:
        for longer in _longer(way, state):
            yield longer, way
    for state, way in likest[:DOUBTED]:
        yield _doubted(way, state), way


def _agreed(lines: Floats, state: State, high: float) -> Fit | None:
    """The fit, if it is sure with even light, under a spot, or either way with the same text."""
    for _ in range(2):
        if (fit := _fit(levels.even(lines, state), state)).sure(ALONE):
            return fit
        under, levelled = _spotted(lines, state, high)
        other = _fit(levelled, under)
        if other.sure(SPOT):
            return other
        if other.symbols == fit.symbols:
            return fit if fit.sure(BOTH) and other.sure(BOTH) else None
        state = _settled(lines, under)
    return None


def _spotted(lines: Floats, state: State, high: float) -> tuple[State, Levelled]:
    """Spot of glare, symbols and place made to fit by turns, as long as they are like the lines."""
    levelled = levels.spotted(lines, state, high)
    for _ in range(SPOTS):
        if levelled.unlike > 2 * UNLIKE:
            break
        symbols, _least = weighing.best(*levelled.dark, state.blur)
        if symbols == state.symbols:
            break
        state = _placed(lines, _placed(lines, replace(state, symbols=symbols)))
        levelled = levels.spotted(lines, state, high)
    return state, levelled


def _longer(lines: Floats, state: State) -> Iterator[State]:
    """The same with some symbols more at either end, where the spot hides the first or last bar."""
    begin, end = state.place[:2].tolist()
    count = len(state.symbols) - 1
    wide = (end - begin) * WIDE / (WIDE * count + ENDED)  # px of a symbol
    for more, before in product(range(1, HIDDEN + 1), (True, False)):
        first, last = (begin - more * wide, end) if before else (begin, end + more * wide)
        if first < 0 or last > lines.shape[1]:
            continue
        place = np.array([first, last, *state.place[2:]])
        seen = levels.sampled(_share(lines, last - first), place, count + more)[:, 0]
        symbols, _ = weighing.best(seen, np.ones_like(seen), state.blur)
        yield State(place, symbols)


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


def _likely(lines: Floats, begin: float, end: float) -> Iterator[tuple[State, Floats]]:
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
        yield State(np.array([first, last, 0.0, 0.0, 0.0, blur]), symbols), way


def _looks(
    lines: Floats, begin: float, end: float
) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """The misfit of each number of symbols and each blur, with the symbols that fit best."""
    dark = _share(lines, end - begin)
    for count in range(FEWEST, MOST + 1):
        if not NARROWEST <= (end - begin) / (WIDE * count + ENDED) <= WIDEST:
            continue
        seen = levels.sampled(dark, np.array([begin, end, 0.0, 0.0, 0.0]), count)[:, 0]
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


def _settled(lines: Floats, state: State) -> State:
    """Place, blur and symbols made to fit by turns."""
    for turn in range(ROUNDS):
        state = _placed(lines, state)
        symbols, _ = weighing.best(*levels.even(lines, state).dark, state.blur)
        if symbols == state.symbols and turn:
            break
        state = replace(state, symbols=symbols)
    return state


def _placed(lines: Floats, state: State) -> State:
    """Place and blur that fit the symbols better.

    By Gauss and Newton's method (Source: C. F. Gauss, Theoria motus, 1809).
    """
    for _ in range(2):
        place = state.place
        left = levels.even(lines, state).left.ravel()
        tries = [replace(state, place=place + way) for way in np.diag(STEPS)]
        slopes = np.stack([levels.even(lines, one).left.ravel() - left for one in tries], 1)
        slopes /= STEPS
        better = np.linalg.lstsq(slopes.T @ slopes, -slopes.T @ left, rcond=None)[0]
        place = place + np.clip(better, -FARTHEST, FARTHEST)
        place[-1] = np.clip(place[-1], *BLURRED)
        state = replace(state, place=place)
    return state


def _fit(levelled: Levelled, state: State) -> Fit:
    """How well the symbols fit."""
    dark, weight = levelled.dark
    margin = weighing.margin(dark, weight, state.blur)
    noise = float((weight * (dark - levelled.drawn) ** 2).mean())
    misfit = levelled.worst(len(state.symbols))
    begin, end = state.place[:2].tolist()
    return Fit(state.symbols, begin, end, misfit, margin / max(noise, 1e-9))


def _doubted(lines: Floats, state: State) -> State:
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


def _others(lines: Floats, state: State) -> set[tuple[int, ...]]:
    """Texts that fit best where light and print are told by some symbols alone, and texts that are
    nearly as good as the best.
    """
    found = set(weighing.next_best(*levels.even(lines, state).dark, state.blur))
    for stiff, doubted in product(STIFF, _pieces(len(state.symbols))):
        dark = levels.even(lines, state, doubted, stiff).dark
        found.add(weighing.best(*dark, state.blur)[0])
    return found - {state.symbols}


def _pieces(symbols: int) -> Iterator[tuple[int, int]]:
    """The first of a few neighbouring symbols and the one after the last, start and stop apart."""
    for many in range(1, DOUBTS + 1):
        for first in range(1, symbols - many):
            yield first, first + many


def _unlike(lines: Floats, state: State) -> float:
    return levels.even(lines, state).unlike
