"""Which numbers of a device never came."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger.sequence import missing, split


@pytest.mark.parametrize(
    ("numbers", "gaps"),
    [
        ([], []),  # nothing came
        ([1, 2, 3], []),
        ([3], [(1, 2)]),  # the first two are on their way
        ([5, 1, 1, 3], [(2, 2), (4, 4)]),  # in any order, doubled
    ],
)
def test_gaps(numbers: list[int], gaps: list[tuple[int, int]]) -> None:
    """A gap lies below the highest number, first and last included."""
    assert missing(numbers) == gaps


@given(st.sets(st.integers(1, 40), min_size=1))
def test_gaps_and_numbers_together_are_everything(numbers: set[int]) -> None:
    """No number is in both, none up to the highest is in neither."""
    absent = [n for first, last in missing(numbers) for n in range(first, last + 1)]

    assert sorted([*absent, *numbers]) == list(range(1, max(numbers) + 1))


@given(st.integers(1, 20), st.integers(0, 20), st.data())
def test_a_split_gap_has_lost_exactly_the_number(
    first: int, more: int, data: st.DataObject
) -> None:
    """What is left are one gap fewer, or two, around the number that came."""
    number = data.draw(st.integers(first, first + more))
    left = [n for a, b in split((first, first + more), number) for n in range(a, b + 1)]

    assert left == [n for n in range(first, first + more + 1) if n != number]
