"""The record mark is the Merkle tree head of RFC 9162 section 2.1.1.

Against the roots that Certificate Transparency tests with (from memory, see the data file) and
against pymerkle, an independent library.
"""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymerkle import InmemoryTree

from inventory.ledger import tree
from inventory.models import Event, Outcome, RecordMark
from inventory.witness import noted
from tests import firm

DATA = json.loads((Path(__file__).parent / "data" / "record_mark.json").read_text("utf-8"))


def head(entries: list[bytes]) -> str:
    """The product's mark over these entries, hex."""
    return tree.root(tree.grow(0, [], [tree.leaf(entry) for entry in entries])[1]).hex()


@pytest.mark.parametrize("size", range(9))
def test_the_published_roots(size: int) -> None:
    """Nought to eight entries."""
    entries = [bytes.fromhex(entry) for entry in DATA["entries"][:size]]

    assert head(entries) == [DATA["empty"], *DATA["roots"]][size]


@given(st.lists(st.binary(max_size=40), min_size=1, max_size=70))
def test_an_independent_library_gives_the_same_root(entries: list[bytes]) -> None:
    """Any number of entries of any length."""
    other = InmemoryTree(algorithm="sha256")
    for entry in entries:
        other.append_entry(entry)

    assert head(entries) == other.get_root().hex()


@pytest.mark.django_db
def test_the_marks_of_the_intake_are_the_library_s() -> None:
    """Events and outcomes in ledger order, after each transaction."""
    wanda = firm.build().wanda
    for size in (1, 3, 2, 5):
        wanda.send(*(wanda.line("receive", "09521234000020", target="DOCK") for _ in range(size)))
    entries = dict(Event.objects.values_list("number", "line"))
    entries |= dict(Outcome.objects.values_list("number", "line"))
    other = InmemoryTree(algorithm="sha256")
    for number in sorted(entries):
        other.append_entry(entries[number].encode())
    marks = list(RecordMark.objects.order_by("size"))

    # At least one mark a batch; on a busy machine a batch takes more than one transaction.
    assert {2, 8, 12, 22} <= {mark.size for mark in marks}
    for mark in marks:
        assert mark.root == other.get_root(mark.size).hex()
    # The library's root after each entry is a witness; that of another record is none.
    roots = [other.get_root(size).hex() for size in range(1, len(entries) + 1)]
    witnesses = [noted(f"{size}:{root}").check() for size, root in enumerate(roots, 1)]
    strangers = [noted(f"{size}:{root}").check() for size, root in enumerate(roots[1:], 1)]
    assert [one.run().problems for one in witnesses] == [[]] * 22
    assert all(one.run().problems for one in strangers)
