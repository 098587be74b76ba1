"""What a firm has ticked at each stack before it is left: one tick for all like joints, at most six
a stack by default, with a photo only where somebody wants one.

Source: common practice, no published source; a firm's own list is LASTBOLT_TICKS.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

DEFAULT: Final = "fixed,joined,connected,earthed,tight,covered+photo,capped"
PHOTO: Final = "+photo"
"""Behind a key: with a photo."""
_STACK: Final = re.compile(r"stack (\d+)")


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing that is looked over as a whole."""

    key: str
    words: str
    needs: frozenset[str]
    """Of the closed list of needs: a job with none of them at a stack is not asked."""


def _listed() -> dict[str, Tick]:
    rows = (
        ("fixed", "Level, fixed and held", ("stand", "fix to wall", "restrain", "anchor")),
        (
            "joined",
            "Every joint between its units closed, every plug home",
            ("join units", "seal joints", "link power", "link data"),
        ),
        (
            "connected",
            "Cables connected and held, the data line ended",
            (
                *("connect stacks", "connect inverter", "tie stacks", "end the bus"),
                *("run power", "run data", "protect and isolate"),
            ),
        ),
        ("earthed", "Earth and bonding connected", ("run earth", "bond")),
        (
            "tight",
            "Entries tight, free holes and ports closed",
            ("enter cable", "seal entry", "blank entry", "blank ports"),
        ),
        ("covered", "Covers and labels on", ("cover", "label")),
        ("capped", "Free ports capped, units packed", ("cap ports", "pack unit", "make good")),
    )
    return {key: Tick(key, words, frozenset(needs)) for key, words, needs in rows}


TICKS: Final = _listed()
ALLOWED: Final = tuple(word for key in TICKS for word in (key, f"{key}{PHOTO}"))
"""What a firm's list may name."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One tick that a job asks for."""

    stack: int
    """1 = first."""
    key: str
    words: str
    photo: bool


def asked(needed: Iterable[tuple[str, str]], wanted: Iterable[str]) -> list[Asked]:
    """The ticks of a job, stack by stack, in the order of the list.

    needed: (need, place) of each reason and task, as "cover: front", "stack 1 place 2"; wanted:
    words of ALLOWED. What belongs to no one stack counts with the first stack that is worked at.

    >>> [tick.key for tick in asked([("bond", "stack 1"), ("label", "system")], ["earthed"])]
    ['earthed']
    """
    at: dict[int, set[str]] = {}
    for need, place in needed:
        found = _STACK.match(place)
        at.setdefault(int(found[1]) if found else 0, set()).add(need.partition(":")[0])
    whole = at.pop(0, set())
    first = min(at, default=1)
    at[first] = at.get(first, set()) | whole
    named = [(TICKS[word.removesuffix(PHOTO)], word.endswith(PHOTO)) for word in wanted]
    return [
        Asked(stack, tick.key, tick.words, photo)
        for stack in sorted(at)
        for tick, photo in named
        if tick.needs & at[stack]
    ]
