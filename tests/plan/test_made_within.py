"""Units of one stack made within so many days."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.plan import family
from kitting.plan.errors import FamilyError
from kitting.plan.made_within import Room, placed
from tests.plan.small import text

FIRST = date(2026, 1, 1)


def day(number: int) -> date:
    return FIRST + timedelta(number)


def any_way(days: list[int], rooms: list[Room], window: int) -> bool:
    """Whether the units fit, by trying every choice for every room."""
    if not days:
        return True
    if not rooms:
        return False
    room, *others = rooms
    for size in range(min(room.count, len(days)) + 1):
        for some in combinations(range(len(days)), size):
            held = [day(days[n]) for n in some]
            rest = [days[n] for n in range(len(days)) if n not in some]
            fits = not held or room.takes(min(held), max(held), window)
            if fits and any_way(rest, others, window):
                return True
    return False


@given(
    st.lists(st.integers(0, 30), max_size=6),
    st.lists(st.integers(1, 3), min_size=1, max_size=3),
    st.integers(1, 20),
)
def test_units_fit_exactly_where_some_way_of_sharing_them_fits(days, sizes, window) -> None:
    """Compared with every choice for every stack; each room keeps its size and its window."""
    days, rooms = sorted(days), [Room(size) for size in sizes]

    found = placed([day(n) for n in days], rooms, window)

    assert any_way(days, rooms, window) == (found is not None)
    for number, room in enumerate(rooms):
        held = [days[at] for at, one in enumerate(found or ()) if one == number]
        assert len(held) <= room.count
        assert not held or max(held) - min(held) <= window


def test_what_stands_counts_with_what_joins_it() -> None:
    """A stack of January takes no module of June, the empty one beside it does."""
    old = Room(2, day(0), day(10))

    assert placed([day(150)], [old], 90) is None
    assert placed([day(60), day(150)], [old, Room(1)], 90) == (0, 1)
    assert placed([day(90)], [old], 90) == (0,)
    assert placed([day(91)], [old], 90) is None


LIMIT = '\n[[made_within]]\nitems = ["module"]\ndays = 90\nmessage = "three months at most"\n'


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"module"]\ndays', '"modul"]\ndays', "made_within 1: items: expected a known item"),
        (
            '"module"]\ndays',
            '"nut"]\ndays',
            "made_within: items: expected items of tracking serial",
        ),
        ("days = 90", "days = 0", "made_within 1: days: expected a whole number from 1 to 36500"),
        ('message = "three', 'words = "three', "made_within 1: message: expected a text, got noth"),
    ],
)
def test_a_fault_of_the_table_is_told(old: str, new: str, told: str) -> None:
    """An item unknown or without serials, no days, a misspelt key."""
    family.parse(text() + LIMIT, "small.toml")

    with pytest.raises(FamilyError) as error:
        family.parse(text() + LIMIT.replace(old, new), "small.toml")
    assert told in str(error.value)
