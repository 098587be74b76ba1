"""The ledger in memory says what is wrong with what it is given."""

import pytest

from inventory.ledger.book import Book, Carry, Move


def book() -> Book[str]:
    """Unit A1 and four of lot BRA stand on the dock."""
    fresh: Book[str] = Book(outside=lambda place: place == "supplier")
    assert fresh.move(Move("MOD", "supplier", "dock", 1, "A1")) == []
    assert fresh.move(Move("BRA", "supplier", "dock", 4)) == []
    return fresh


@pytest.mark.parametrize(
    ("move", "wrong"),
    [
        # stands elsewhere: the chain is broken, and the shelf has one less than none
        (
            Move("MOD", "shelf", "van", 1, "A1"),
            ["unit A1 moved from shelf, it stood at dock", "lot MOD at shelf is -1"],
        ),
        # a unit that appears from one of our own places
        (Move("MOD", "dock", "van", 1, "B2"), ["unit B2 moved from dock, it stood nowhere"]),
        # one leg only
        (Move("BRA", "dock", "dock", 1), ["lot BRA moved from dock to itself"]),
        # nothing, and less than nothing
        (Move("BRA", "dock", "van", 0), ["lot BRA moved by 0"]),
        # two of a thing there is one of
        (
            Move("MOD", "dock", "van", 2, "A1"),
            ["lot MOD moved by 2", "lot MOD at dock is -1"],
        ),
        # more than there is
        (Move("BRA", "dock", "van", 5), ["lot BRA at dock is -1"]),
        # outside may owe
        (Move("BRA", "supplier", "van", 500), []),
    ],
)
def test_a_wrong_movement_is_told(move: Move[str], wrong: list[str]) -> None:
    """Each law that it breaks is named; it is applied all the same."""
    fresh = book()

    assert fresh.move(move) == wrong
    assert sum(q for (_, lot), q in fresh.holdings.items() if lot == move.lot) == 0


def test_a_box_goes_on_from_where_it_stood() -> None:
    """A container move that begins elsewhere is told."""
    fresh = book()

    assert fresh.carry(Carry("box", "supplier", "dock")) == []
    assert fresh.carry(Carry("box", "dock", "van")) == []
    assert fresh.carry(Carry("box", "dock", "bin")) == ["box box moved from dock, it stood in van"]
    assert fresh.carry(Carry("box", "bin", "bin")) == ["box box moved to where it was"]


def test_debts_and_sums_are_told_at_any_time() -> None:
    """A place of ours below zero is a fault; what sums to zero is none."""
    fresh = book()
    assert fresh.faults() == []
    fresh.holdings["dock", "BRA"] = -1

    assert fresh.faults() == ["lot BRA at dock is -1", "lot BRA sums to -5"]
