"""The record mark grows by each entry and says when any byte changed."""

import pytest

from inventory.ledger import tree


def mark(entries: list[bytes]) -> bytes:
    return tree.root(tree.grow(0, [], [tree.leaf(entry) for entry in entries])[1])


@pytest.mark.parametrize("count", range(1, 18))
def test_growing_in_parts_is_growing_at_once(count: int) -> None:
    """However the entries are cut into transactions, the root is the same."""
    leaves = [tree.leaf(bytes([n])) for n in range(count)]
    whole = tree.grow(0, [], leaves)
    size, peaks = 0, list[bytes]()
    for fresh in leaves:
        size, peaks = tree.grow(size, peaks, [fresh])

    assert (size, peaks) == whole
    assert len(peaks) == count.bit_count()  # one perfect subtree for each binary digit


def test_any_changed_byte_changes_the_mark() -> None:
    """Each byte of a log of fifty entries is turned in its turn."""
    entries = [f"entry {n}".encode() for n in range(50)]
    whole = mark(entries)
    for place, entry in enumerate(entries):
        for byte in range(len(entry)):
            turned = bytearray(entry)
            turned[byte] ^= 1

            assert mark([*entries[:place], bytes(turned), *entries[place + 1 :]]) != whole


def test_a_leaf_is_never_a_node() -> None:
    """Two children written as one entry have another hash than their node (second preimage)."""
    left, right = tree.leaf(b"a"), tree.leaf(b"b")

    assert tree.leaf(left + right) != tree.node(left, right)
