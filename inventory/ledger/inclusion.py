"""Which hashes show that an entry is in the record, and that a record only grew.

Source: RFC 9162 section 2.1.3.1 (inclusion path) and 2.1.4.1 (consistency). A range is half-open,
0 = the first entry. The hashes of all ranges asked for are taken in one walk over the entries.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from inventory.ledger import tree

Range = tuple[int, int]


def inclusion(index: int, size: int) -> list[Range]:
    """Return the ranges whose hashes lead from entry `index` (0 to size - 1) to the root.

    Raises ValueError outside.

    >>> inclusion(3, 7)
    [(2, 3), (0, 2), (4, 7)]
    """
    if not 0 <= index < size:
        raise ValueError(f"index: expected 0 to {size - 1}, got {index}")
    path: list[Range] = []
    start, end = 0, size
    while end - start > 1:
        middle = start + _left(end - start)
        if index < middle:
            path.append((middle, end))
            end = middle
        else:
            path.append((start, middle))
            start = middle
    return path[::-1]


def consistency(before: int, size: int) -> list[Range]:
    """Return the ranges whose hashes show that the first `before` (1 to size) entries stand.

    Raises ValueError outside. Empty where nothing was added.

    >>> consistency(3, 7)
    [(2, 3), (3, 4), (0, 2), (4, 7)]
    """
    if not 1 <= before <= size:
        raise ValueError(f"before: expected 1 to {size}, got {before}")
    path: list[Range] = []
    start, end = 0, size
    while end != before:
        middle = start + _left(end - start)
        if before <= middle:
            path.append((middle, end))
            end = middle
        else:
            path.append((start, middle))
            start = middle
    # Of the old tree's own root nothing is told: the reader has it.
    return path[::-1] if start == 0 else [(start, end), *path[::-1]]


def hashes(entries: Iterable[bytes], ranges: Sequence[Range]) -> dict[Range, bytes]:
    """Return the 32-byte hash of each range, in one walk over all entries.

    Raises ValueError where a range ends beyond the last entry.
    """
    wanted = {part for one in ranges for part in _perfect(one)}
    found: dict[Range, bytes] = {}
    heads: list[bytes] = []
    size = 0
    for entry in entries:
        joined, start, width = tree.leaf(entry), size, 1
        size += 1
        while True:
            if (start, start + width) in wanted:
                found[start, start + width] = joined
            # The low bits of the size say which subtrees this entry completes.
            if size & width:
                break
            joined, start, width = tree.node(heads.pop(), joined), start - width, width * 2
        heads.append(joined)
    lacking = [one for one in ranges if one[1] > size]
    if lacking:
        raise ValueError(f"ranges: expected at most {size} entries, got {lacking[0]}")
    return {one: tree.root([found[part] for part in _perfect(one)]) for one in ranges}


def _left(width: int) -> int:
    """Return the largest power of two below a width of 2 and up."""
    return 1 << (width - 1).bit_length() - 1


def _perfect(one: Range) -> list[Range]:
    """Return the perfect subtrees that a range of a path is made of, largest first."""
    start, end = one
    parts = []
    while start < end:
        width = 1 << (end - start).bit_length() - 1
        parts.append((start, start + width))
        start += width
    return parts
