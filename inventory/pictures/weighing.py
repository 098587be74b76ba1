"""All texts that a Code 128 could carry, weighed at once by how well their blurred bars fit.

Blurred symbols add up, so the misfit of a text is a sum over its symbols and their neighbours, and
the least of all is found step by step (Source: A. J. Viterbi, Error bounds for convolutional codes,
IEEE Transactions on Information Theory 13, 1967).
"""

from collections.abc import Iterator
from functools import cache
from math import erf, sqrt
from typing import Any, Final

import numpy as np
from barcode.charsets import code128
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

WIDE: Final = 11  # modules of a symbol (Source: ISO/IEC 15417, as the next four)
ENDED: Final = 13  # modules of the stop
STARTS: Final = (103, 104, 105)
STOP: Final = 106
DATA: Final = 103  # symbols that carry data; the check character is the remainder by it
FINE: Final = 4  # samples of a module
REACH: Final = 4  # modules beside a symbol into which its blur reaches
GROUND: Final = 6  # modules of quiet zone that must fit too: a piece of a code is no code
NEXT: Final = 3  # best symbols that are tried in a place
NEVER: Final = 1e9  # the misfit of a symbol that cannot be there


def best(dark: Floats, weight: Floats, blur: float) -> tuple[tuple[int, ...], float]:
    """The symbols of the least misfit, and that misfit less sum(dark^2).

    dark: 0 to 1, weight: of its samples; blur: modules, sigma.
    """
    alone, beside = _misfits(dark, weight, blur)
    ahead = _least(alone, beside)
    symbols = [STOP]
    for before, pairs in zip(ahead[-2::-1], beside[::-1], strict=True):
        symbols.append(int((before + pairs[:, symbols[-1]]).argmin()))
    return tuple(reversed(symbols)), float(ahead[-1, STOP])


def margin(dark: Floats, weight: Floats, blur: float) -> float:
    """How much more the next best symbols leave."""
    alone, beside = _misfits(dark, weight, blur)
    ahead, behind = _least(alone, beside), _behind(alone, beside)
    two = np.partition((ahead + behind - alone)[:-1], 1, axis=1)
    return float((two[:, 1] - two[:, 0]).min())


def next_best(dark: Floats, weight: Floats, blur: float) -> Iterator[tuple[int, ...]]:
    """For each place the best symbols with each of the next best ones there."""
    alone, beside = _misfits(dark, weight, blur)
    ahead, behind = _least(alone, beside), _behind(alone, beside)
    for place, through in enumerate((ahead + behind - alone)[1:-1], 1):
        for symbol in np.argsort(through)[1 : 1 + NEXT].tolist():
            symbols = [symbol]
            for i in range(place, 0, -1):
                symbols.insert(0, int((ahead[i - 1] + beside[i - 1][:, symbols[0]]).argmin()))
            for i in range(place, len(beside)):
                symbols.append(int((behind[i + 1] + beside[i][symbols[-1]]).argmin()))
            yield tuple(symbols)


def _misfits(dark: Floats, weight: Floats, blur: float) -> tuple[Floats, list[Floats]]:
    """Of each symbol in each place by itself; and what two add that are neighbours."""
    shapes, pairs = _shapes(round(float(blur), 2))
    count, step = (len(dark) // FINE - 2 * GROUND - ENDED) // WIDE, WIDE * FINE
    first = GROUND * FINE
    begins = first - REACH * FINE + step * np.arange(count + 1)[:, None]
    pieces = begins + np.arange(shapes.shape[1])
    # Sample by sample: within one symbol glare can leave print as dark as ever and none.
    alone = weight[pieces] @ (shapes**2).T - 2 * (weight * dark)[pieces] @ shapes.T
    alone[0, : STARTS[0]] = alone[0, STOP:] = NEVER
    alone[1:count, DATA:] = alone[count, :STOP] = NEVER
    borders = first + step * np.arange(1, count + 1)[:, None] + np.arange(-2 * FINE, 2 * FINE)
    return alone, [pairs * border for border in 2 * weight[borders].mean(1)]


def _least(alone: Floats, beside: list[Floats]) -> Floats:
    """The misfit of each symbol in each place with the best ones before it."""
    least = alone.copy()
    for i, pairs in enumerate(beside, 1):
        least[i] += (pairs + least[i - 1][:, None]).min(0)
    return least


def _behind(alone: Floats, beside: list[Floats]) -> Floats:
    """The same with the best ones after it."""
    return _least(alone[::-1], [pairs.T for pairs in beside[::-1]])[::-1]


def drawn(symbols: tuple[int, ...], blur: float, samples: int) -> Floats:
    """The blurred code, 0 to 1, sample by sample."""
    shapes, _ = _shapes(round(float(blur), 2))
    drawn = np.zeros(samples)
    for place, symbol in enumerate(symbols):
        begin = (GROUND - REACH + place * WIDE) * FINE
        drawn[begin : begin + shapes.shape[1]] += shapes[symbol]
    return drawn


@cache
def patterns() -> NDArray[np.float64]:
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
    shapes = patterns() @ (steps[:-1] - steps[1:])
    step = WIDE * FINE
    return shapes, shapes[:, step:] @ shapes[:, :-step].T
