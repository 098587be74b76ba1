"""Numbers that a device gives its events, from 1 up: which of them never came."""

from collections.abc import Iterable

Gap = tuple[int, int]
"""First and last missing number, both included."""


def missing(numbers: Iterable[int]) -> list[Gap]:
    """Return the gaps below the highest of these numbers, lowest first.

    >>> missing([1, 2, 5, 9, 5])
    [(3, 4), (6, 8)]
    """
    gaps, expected = [], 1
    for number in sorted(set(numbers)):
        if number > expected:
            gaps.append((expected, number - 1))
        expected = number + 1
    return gaps


def split(gap: Gap, number: int) -> list[Gap]:
    """Return what is left of a gap when one of its numbers has come: none, one or two gaps.

    >>> split((3, 8), 5)
    [(3, 4), (6, 8)]
    """
    first, last = gap
    return [(low, high) for low, high in ((first, number - 1), (number + 1, last)) if low <= high]
