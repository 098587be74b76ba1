"""What is worth most of all that one stick can give: the bounded knapsack.

Source: recursion over lengths as in Martello and Toth, Knapsack Problems (1990), chapter 3; a count
is split into 1, 2, 4 ... pieces taken together.
"""

from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

HAIR: Final = 1e-9
"""Worth below this is rounding."""

Cut = tuple[int, ...]
"""How many of each length are cut from one stick, the lengths in the order asked."""


class Best(NamedTuple):
    """What to cut, and what it is worth."""

    worth: float
    cut: Cut


def best(
    lengths: Sequence[int], stick: int, worths: Sequence[float], counts: Sequence[int]
) -> Best:
    """The most that one stick gives. worths: of one piece of each length; counts: at most so many.

    >>> best([5, 4, 3], 10, [0.5, 0.4, 0.2], [2, 2, 2])
    Best(worth=1.0, cut=(2, 0, 0))
    """
    most = np.zeros(stick + 1)
    taken: list[tuple[int, int, int, Any]] = []
    for at, together in _bundles(lengths, stick, worths, counts):
        room = lengths[at] * together
        with_it = most[: stick + 1 - room] + worths[at] * together
        taken.append((at, together, room, with_it > most[room:] + HAIR))
        most[room:] = np.maximum(most[room:], with_it)
    cut, left = [0] * len(lengths), stick
    for at, together, room, better in reversed(taken):
        if left >= room and better[left - room]:
            cut[at] += together
            left -= room
    return Best(float(most[stick]), tuple(cut))


def _bundles(
    lengths: Sequence[int], stick: int, worths: Sequence[float], counts: Sequence[int]
) -> Iterator[tuple[int, int]]:
    """(place of a length, pieces taken together); any count up to the most is a sum of these."""
    for at, (length, worth, count) in enumerate(zip(lengths, worths, counts, strict=True)):
        left = min(count, stick // length) if worth > HAIR else 0
        together = 1
        while left:
            together = min(together, left)
            yield at, together
            left -= together
            together *= 2
