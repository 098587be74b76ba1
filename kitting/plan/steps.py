"""The steps of a job in the order of the trade, and backwards for taking down.

Source: common practice, no published source: units are looked over before anything is mounted, the
foot and the wall come first, covers last; taking down is the same list backwards, wall fixings
last.
"""

from dataclasses import dataclass
from typing import Final

ORDER: Final = (
    "look",
    "base",
    "fix",
    "join",
    "end",
    "connect",
    "earth",
    "gland",
    "seal",
    "label",
    "cover",
    "down",
)
BACKWARDS: Final = ("look", "cover", "down", *reversed(ORDER[1:-2]))
"""`down` (switch off, isolate) comes right after the covers are off."""

APART: Final = ("look", "down", *ORDER[1:-1])
"""A swap: switched off before anything is opened, then as it is built."""

JOBS: Final = ("new", "expansion", "swap", "removal")


@dataclass(frozen=True, slots=True)
class Step:
    """One step as the family words it."""

    key: str
    title: str
    tasks: tuple[str, ...]
    """Sentences for the person who does it, in order."""


def order(job: str) -> tuple[str, ...]:
    """The step keys of a job, first to last.

    >>> order("removal")[:3], order("removal")[-2:]
    (('look', 'cover', 'down'), ('fix', 'base'))
    """
    match job:
        case "removal":
            return BACKWARDS
        case "swap":
            return APART
    return ORDER[:-1]


IN_EVERY_JOB: Final = frozenset.intersection(*(frozenset(order(job)) for job in JOBS))
