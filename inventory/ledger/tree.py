"""The record mark: a Merkle tree over event and outcome lines in ledger order.

Source: RFC 9162 section 2.1 (leaf = SHA-256(0x00 || entry), node = SHA-256(0x01 || left || right)).
Only the roots of the perfect subtrees ("peaks") are kept, so adding an entry costs log n.
"""

import hashlib
from collections.abc import Iterable, Sequence


def leaf(entry: bytes) -> bytes:
    """Return the 32-byte hash of one entry."""
    return hashlib.sha256(b"\x00" + entry).digest()


def node(left: bytes, right: bytes) -> bytes:
    """Return the 32-byte hash of two subtrees."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def grow(size: int, peaks: Sequence[bytes], leaves: Iterable[bytes]) -> tuple[int, list[bytes]]:
    """Add leaves to a tree of `size` entries; return its new size and peaks, largest first."""
    heads = list(peaks)
    for fresh in leaves:
        joined, size = fresh, size + 1
        # One merge for every perfect subtree that the new entry completes.
        for _ in range((size & -size).bit_length() - 1):
            joined = node(heads.pop(), joined)
        heads.append(joined)
    return size, heads


def root(peaks: Sequence[bytes]) -> bytes:
    """Return the 32-byte root; of the empty tree it is SHA-256 of nothing (RFC 9162 2.1.1)."""
    if not peaks:
        return hashlib.sha256(b"").digest()
    head = peaks[-1]
    for peak in reversed(peaks[:-1]):
        head = node(peak, head)
    return head
