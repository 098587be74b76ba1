"""Units of one stack made within so many days of each other: the limit, and whether it is kept.

The figure is the family's own. Source of the kind of rule: makers of battery racks bound how far
apart the sets of one rack are made (two years in one case); the maker's manual decides.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class MadeWithin:
    """One [[made_within]]."""

    items: tuple[str, ...]
    days: int
    """Most days between the first and the last of one stack."""
    message: str


@dataclass(frozen=True, slots=True)
class Room:
    """What a stack still takes, and the days on which what it holds was made."""

    count: int
    """Units, 0 or more."""
    oldest: date | None = None
    newest: date | None = None
    """None, both: it holds nothing, or nobody knows when that was made."""

    def takes(self, first: date, last: date, days: int) -> bool:
        """Whether units made from `first` to `last` may stand with what it holds.

        >>> old = date(2026, 1, 1)
        >>> Room(2, old, old).takes(date(2026, 1, 5), date(2026, 1, 11), 9)
        False
        """
        oldest = min(first, self.oldest or first)
        return max(last, self.newest or last) - oldest <= timedelta(days=days)


def parse(table: Table) -> MadeWithin:
    """One [[made_within]]; faults go to the table."""
    found = MadeWithin(table.texts("items"), table.whole("days", 1, 36500), table.text("message"))
    table.finish()
    return found


def placed(made: Sequence[date], rooms: Sequence[Room], days: int) -> tuple[int, ...] | None:
    """Return for each unit the room it can stand in, None where they do not fit in any way.

    made: in order of the days. Two units of two stacks can always change places so that each stack
    holds neighbours; so each room takes as many as it can from the front, and only the order of the
    rooms is tried.

    >>> first, later = date(2026, 1, 1), date(2026, 6, 1)
    >>> placed([first, first, later], [Room(2), Room(2)], 30)
    (0, 0, 1)
    >>> placed([first, later], [Room(2)], 30) is None
    True
    """
    kinds = tuple(dict.fromkeys(rooms))

    @cache
    def rest(at: int, left: tuple[int, ...]) -> tuple[tuple[int, int], ...] | None:
        """Kind of each further room and how many it takes, from unit `at` on."""
        if at == len(made):
            return ()
        for kind, number in enumerate(left):
            taken = _taken(made[at:], kinds[kind], days) if number else 0
            more = rest(at + taken, _one_less(left, kind)) if taken else None
            if more is not None:
                return ((kind, taken), *more)
        return None

    found = rest(0, tuple(sum(room == kind for room in rooms) for kind in kinds))
    if found is None:
        return None
    free = [[n for n, room in enumerate(rooms) if room == kind] for kind in kinds]
    return tuple(place for kind, taken in found for place in [free[kind].pop(0)] * taken)


def _one_less(left: tuple[int, ...], kind: int) -> tuple[int, ...]:
    return (*left[:kind], left[kind] - 1, *left[kind + 1 :])


def _taken(made: Sequence[date], room: Room, days: int) -> int:
    """How many from the front one room takes."""
    count = 0
    while count < min(room.count, len(made)) and room.takes(made[0], made[count], days):
        count += 1
    return count
