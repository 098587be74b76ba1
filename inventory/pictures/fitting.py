"""A Code 128 read by fitting it: the bars which, blurred, come nearest to what the picture shows.

Where bars are narrower than the blur no edge is left to follow, but the sum of neighbouring bars
still differs from text to text. All texts are weighed at once: blurred symbols add up, so the
misfit of a code is a sum over its symbols and their neighbours (Source: A. J. Viterbi, Error bounds
for convolutional codes, IEEE Transactions on Information Theory 13, 1967). Light and print are
fitted along the code too, which takes out glare and shadow. The check character chooses nothing
here: a code whose best fit fails it is not read.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import erf, sqrt
from typing import Any, Final

import cv2
import numpy as np
from barcode.charsets import code128
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

WIDE: Final = 11  # modules of a symbol (Source: ISO/IEC 15417, as the next four)
ENDED: Final = 13  # modules of the stop
STARTS: Final = (103, 104, 105)
STOP: Final = 106
DATA: Final = 103  # symbols that carry data; the check character is the remainder by it
FEWEST, MOST = 4, 30  # symbols before the stop
NARROWEST, WIDEST = 1.2, 6.0  # px of a module: no sampling tells less, more needs no fitting
FINE: Final = 4  # samples of a module
REACH: Final = 4  # modules beside a symbol into which its blur reaches
GROUND: Final = 6  # modules of quiet zone that must fit too: a piece of a code is no code
BLURS: Final = (0.45, 0.65, 0.85)  # modules, sigma: the first guesses
EVEN: Final = 18  # modules over which light and print change evenly
ROUNDS: Final = 5
TRIED: Final = 3  # numbers of symbols and blurs, the best of the first look, that are fitted well
FAINT: Final = (0.25, 0.12, 0.06)  # of the strong edges: the first and last bar may lie in glare
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
        rows = [_patterns()[s][:WIDE] for s in self.symbols[:-1]]
        return np.concatenate([*rows, _patterns()[STOP]]) > 0


def fitted(profile: Floats) -> Fit | None:
    """The code in a line across upright bars, grey levels px by px; None where none is sure."""
    size = len(profile)
    for begin, end in _ends(profile):
        ways = ((profile, begin, end), (profile[::-1], size - end, size - begin))
        looks = sorted((*look, turned) for turned, way in enumerate(ways) for look in _looks(*way))
        for _, count, blur, symbols, turned in looks[:TRIED]:
            line, first, last = ways[turned]
            fit = _fit(line, np.array([first, last, 0.0, blur]), count, symbols)
            if fit.sure:
                there = (size - fit.begin, size - fit.end) if turned else (fit.begin, fit.end)
                return Fit(fit.symbols, *there, fit.misfit, fit.margin)
    return None


def _ends(profile: Floats) -> Iterator[tuple[float, float]]:
    """Where the bars could begin and end, in px: the longest stretch of edges without a gap."""
    slope = np.gradient(cv2.GaussianBlur(profile[None].astype(np.float32), (0, 0), 1.0)[0])
    told = set()
    for faint in FAINT:
        edges = np.flatnonzero(np.abs(slope) > faint * np.percentile(np.abs(slope), 95))
        for gap in (12, 8):  # px; a white label's own edge is ten modules away
            pieces = np.split(edges, np.flatnonzero(np.diff(edges) > gap) + 1)
            longest = max(pieces, key=len)
            if len(longest) and (span := (longest[0], longest[-1])) not in told:
                told.add(span)
                yield (
                    span[0] + int(np.argmin(slope[span[0] : span[0] + 8])) + 0.5,
                    span[1] - 7 + int(np.argmax(slope[max(0, span[1] - 7) : span[1] + 1])) + 0.5,
                )


def _looks(
    profile: Floats, begin: float, end: float
) -> Iterator[tuple[float, int, float, tuple[int, ...]]]:
    """The misfit of each number of symbols and each blur, with the symbols that fit best."""
    dark = _share(profile, end - begin)
    for count in range(FEWEST, MOST + 1):
        if not NARROWEST <= (end - begin) / (WIDE * count + ENDED) <= WIDEST:
            continue
        seen = _sampled(dark, np.array([begin, end, 0.0]), count)
        for blur in BLURS:
            symbols, least, _ = _best(seen, np.ones_like(seen), blur)
            yield (least + float((seen**2).sum())) / len(seen), count, blur, symbols


def _share(profile: Floats, span: float) -> Floats:
    """How dark each px is between the light and the dark round it."""
    wide = max(5, round(NEAR * span)) | 1
    row, window = profile[None].astype(np.float32), np.ones((1, wide), np.uint8)
    light = cv2.blur(cv2.dilate(row, window), (wide, 1))[0]
    dark = cv2.blur(cv2.erode(row, window), (wide, 1))[0]
    return np.asarray(np.clip((light - profile) / np.maximum(light - dark, 3), -0.3, 1.3))


def _fit(profile: Floats, guess: Floats, count: int, symbols: tuple[int, ...]) -> Fit:
    """Symbols, place (begin, end, bend in px), blur, light and print made to fit by turns.

    The place and the blur by Gauss and Newton's method (Source: C. F. Gauss, Theoria motus, 1809).
    """
    steps, most = np.array([0.05, 0.05, 0.05, 0.02]), np.array([0.6, 0.6, 0.6, 0.2])
    for turn in range(ROUNDS):
        for _ in range(2):
            left = _levelled(profile, guess, symbols)[3]
            ways = [_levelled(profile, guess + way, symbols)[3] - left for way in np.diag(steps)]
            slopes = np.stack(ways, 1) / steps
            better = np.linalg.lstsq(slopes.T @ slopes, -slopes.T @ left, rcond=None)[0]
            guess = guess + np.clip(better, -most, most)
            guess[3] = np.clip(guess[3], 0.25, 1.4)
        seen, light, print_, left = _levelled(profile, guess, symbols)
        weight = np.maximum(print_, max(0.1 * float(np.median(print_)), 1.0))
        dark = (light - seen) / weight
        weight = (weight / np.median(weight)) ** 2
        before = symbols
        symbols, _, margin = _best(dark, weight, guess[3])
        if before == symbols and turn:
            break
    noise = float((weight * (dark - _drawn(symbols, guess[3], len(dark))) ** 2).mean())
    misfit = _worst(left, print_, count)
    return Fit(symbols, float(guess[0]), float(guess[1]), misfit, margin / max(noise, 1e-9))


def _worst(left: Floats, print_: Floats, count: int) -> float:
    """What is left of the worst symbol or ground, in shares of the print's darkness there."""
    borders = [(GROUND + i * WIDE) * FINE for i in range(count + 1)] + [-GROUND * FINE]
    pieces = zip(np.split(left, borders), np.split(print_, borders), strict=True)
    return max(
        sqrt(float((rest**2).mean())) / max(float(dark.mean()), 1e-3) for rest, dark in pieces
    )


def _levelled(
    profile: Floats, guess: Floats, symbols: tuple[int, ...]
) -> tuple[Floats, Floats, Floats, Floats]:
    """The profile in samples, its light, its print's darkness, and what these leave of it."""
    seen = _sampled(profile, guess, len(symbols) - 1)
    drawn = _drawn(symbols, guess[3], len(seen))
    even = _hats(len(seen))
    both = np.concatenate([even, -even * drawn[:, None]], 1)
    squares = both.T @ both + 1e-6 * np.eye(both.shape[1])
    levels, darks = np.split(np.linalg.solve(squares, both.T @ seen), 2)
    light, print_ = even @ levels, even @ darks
    return seen, light, print_, seen - light + print_ * drawn


def _sampled(profile: Floats, place: Floats, count: int) -> Floats:
    """The profile at FINE samples a module, GROUND modules of ground on either side."""
    modules = WIDE * count + ENDED
    part = ((np.arange((modules + 2 * GROUND) * FINE) + 0.5) / FINE - GROUND) / modules
    x = place[0] + (place[1] - place[0]) * part + place[2] * 4 * part * (1 - part)
    return np.asarray(np.interp(x, np.arange(len(profile)) + 0.5, profile))


def _best(dark: Floats, weight: Floats, blur: float) -> tuple[tuple[int, ...], float, float]:
    """The symbols of the least misfit, that misfit less sum(dark^2), and the next best's excess.

    dark: 0 to 1, weight: of its samples; blur: modules, sigma.
    """
    shapes, beside = _shapes(round(float(blur), 2))
    count, step = (len(dark) // FINE - 2 * GROUND - ENDED) // WIDE, WIDE * FINE
    begins = (GROUND - REACH) * FINE + step * np.arange(count + 1)
    pieces = np.stack([dark[begin : begin + shapes.shape[1]] for begin in begins])
    alone = (shapes**2).sum(1)[None] - 2 * pieces @ shapes.T
    inner = begins + REACH * FINE
    alone *= np.array([weight[at : at + step].mean() for at in inner])[:, None]
    alone[0, : STARTS[0]] = alone[0, STOP:] = np.inf
    alone[1:count, DATA:] = alone[count, :STOP] = np.inf
    pairs = [2 * beside * weight[at - 2 * FINE : at + 2 * FINE].mean() for at in inner]
    ahead, behind = alone.copy(), np.zeros_like(alone)
    for i in range(1, count + 1):
        ahead[i] += (ahead[i - 1][:, None] + pairs[i]).min(0)
    for i in range(count, 0, -1):
        behind[i - 1] = (behind[i] + alone[i] + pairs[i]).min(1)
    through = ahead + behind
    two = np.partition(through[:count], 1, axis=1)
    symbols = tuple(through.argmin(1).tolist())
    return symbols, float(two[0, 0]), float((two[:, 1] - two[:, 0]).min())


@cache
def _patterns() -> NDArray[np.float64]:
    """107 symbols x ENDED modules, 1 for dark; all but the stop have two light ones at the end."""
    rows = [*code128.CODES, code128.STOP + "11"]
    return np.array([[sign == "1" for sign in row.ljust(ENDED, "0")] for row in rows], float)


@cache
def _shapes(blur: float) -> tuple[Floats, Floats]:
    """Each symbol blurred, REACH modules more on either side, and each two neighbours' product."""
    at = (np.arange((ENDED + 2 * REACH) * FINE) + 0.5) / FINE - REACH
    steps = np.array(
        [[(1 + erf((x - edge) / blur / sqrt(2))) / 2 for x in at] for edge in range(ENDED + 1)]
    )
    shapes = _patterns() @ (steps[:-1] - steps[1:])
    step = WIDE * FINE
    return shapes, shapes[:, step:] @ shapes[:, :-step].T


@cache
def _hats(samples: int) -> Floats:
    """What each place, EVEN modules apart, bears on each sample."""
    places = max(3, round(samples / FINE / EVEN) + 1)
    at = np.linspace(0, places - 1, samples)[:, None]
    return np.asarray(np.maximum(0, 1 - np.abs(at - np.arange(places))))


def _drawn(symbols: tuple[int, ...], blur: float, samples: int) -> Floats:
    """The blurred code, 0 to 1, sample by sample."""
    shapes, _ = _shapes(round(float(blur), 2))
    drawn = np.zeros(samples)
    for place, symbol in enumerate(symbols):
        begin = (GROUND - REACH + place * WIDE) * FINE
        drawn[begin : begin + shapes.shape[1]] += shapes[symbol]
    return drawn
