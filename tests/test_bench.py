"""The benches: a history that holds together, and figures that are written or the bench fails."""

import hashlib
from itertools import chain

import pytest

from inventory.ledger import tree
from tests.bench import marks
from tests.bench.big import history

PAGE = "before\n<!-- quick:begin -->\nold\n<!-- quick:end -->\nafter\n"


def test_figures_replace_those_between_their_marks() -> None:
    """The rest of the page stays; commit and machine stand beside the figures."""
    written = marks.write("quick", ["- A thing: 3 ms."], PAGE)

    assert written.startswith("before\n<!-- quick:begin -->\nMeasured ")
    assert written.endswith("\n\n- A thing: 3 ms.\n<!-- quick:end -->\nafter\n")
    assert "old" not in written


@pytest.mark.parametrize("lines", [[], [""], ["- Nothing was measured."], ["- 3 ms.", ""]])
def test_a_bench_that_measured_nothing_fails(lines: list[str]) -> None:
    """No figure, no page: the run ends with an error and the page stays as it was."""
    with pytest.raises(ValueError, match="expected a figure a line"):
        marks.write("quick", lines, PAGE)


def test_a_table_follows_the_figures() -> None:
    """Its head has no figure, each of its rows does or the bench fails."""
    head = ["| step | ms |", "|---|---|"]
    written = marks.write("quick", ["- 3 photos."], PAGE, table=[*head, "| one | 3 |"])

    assert "- 3 photos.\n\n| step | ms |\n|---|---|\n| one | 3 |\n<!-- quick:end -->" in written
    for rows in (head, [*head, "| one | |"]):
        with pytest.raises(ValueError, match="expected a figure a row"):
            marks.write("quick", ["- 3 photos."], PAGE, table=rows)


def test_a_page_without_the_marks_is_refused() -> None:
    """Figures are never written somewhere else."""
    with pytest.raises(ValueError, match="slow:begin"):
        marks.write("slow", ["- A thing: 3 ms."], PAGE)


def test_the_history_of_a_firm_keeps_the_laws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each unit leaves where it stood, sums of holdings agree, and the mark covers every line."""
    monkeypatch.setattr(history, "BLOCK", 50)
    firm = history.Firm(1000)
    tables = list(history.chunks(firm))
    moved = list(chain.from_iterable(part["movement"] for part in tables))
    events = list(chain.from_iterable(part["event"] for part in tables))
    outcomes = list(chain.from_iterable(part["outcome"] for part in tables))
    stands: dict[object, object] = {}
    for _, _, unit, _, start, to, quantity in moved:
        assert start == stands.get(unit, history.SUPPLIER) != to
        assert quantity == 1
        stands[unit] = to
    entries = [
        e for event, outcome in zip(events, outcomes, strict=True) for e in (event[3], outcome[4])
    ]

    assert len(stands) == firm.units == 100
    assert sum(firm.holdings.values()) == 0
    assert sum(n for (place, _), n in firm.holdings.items() if place != history.SUPPLIER) == 100
    assert (firm.size, tree.root(firm.peaks)) == (
        2000,
        head([str(one).encode() for one in entries]),
    )


def head(entries: list[bytes]) -> bytes:
    """The Merkle tree hash as RFC 9162 section 2.1.1 defines it: split at a power of two."""
    if len(entries) == 1:
        return hashlib.sha256(b"\x00" + entries[0]).digest()
    half = 1 << (len(entries) - 1).bit_length() - 1
    return hashlib.sha256(b"\x01" + head(entries[:half]) + head(entries[half:])).digest()
