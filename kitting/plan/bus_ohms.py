"""What the ohms between the two wires of a data line say of its ends.

Source: ISO 11898-2:2016: 120 ohm at each of the two ends, so 60 with nothing switched on; one end
missing shows 120, a third one 40 (`bus.can.measure`). The band of 50 to 70 round the 60 is a
published module manual's; the same share round 120 and 40 is common practice, no source.
"""

from dataclasses import dataclass
from typing import Final

from kitting.plan.counting.bus_ends import ENDS
from kitting.plan.figures.buses import measured

LOW, HIGH = 50 / 60, 70 / 60  # of what so many ends show
SHORT: Final = 10
"""Ohm; below it no number of ends is likely: the wires touch."""
MOST: Final = 5
"""Ends that are told apart; more show ohms that run together."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a reading says."""

    right: bool
    words: str


def verdict(ohm: int) -> Verdict:
    """Judge a reading in whole ohms, with everything switched off.

    >>> verdict(60).right, verdict(120).words
    (True, 'One end is missing: one of 2 is there')
    """
    found = ends(ohm)
    if found == ENDS:
        return Verdict(True, "Both ends are there")
    if found == ENDS + 1:
        return Verdict(False, "One end too many: take out the one that is not at an end")
    if found > ENDS:
        return Verdict(False, f"{found - ENDS} ends too many: leave one at each end of the line")
    if found == 1:
        return Verdict(False, f"One end is missing: one of {ENDS} is there")
    if ohm < SHORT:
        return Verdict(False, "The two wires touch each other, or the meter sees another part")
    if ohm > measured(1) * HIGH:
        return Verdict(False, "No end is there, or the line is broken on the way")
    return Verdict(False, "No number of ends shows that: look for a loose plug, measure again")


def ends(ohm: int) -> int:
    """Return how many ends show so many ohms, 0 where no number of them does.

    >>> [ends(ohm) for ohm in (60, 50, 70, 120, 40, 85, 3, 5000)]
    [2, 2, 2, 1, 3, 0, 0, 0]
    """
    near = [n for n in range(1, MOST + 1) if LOW <= ohm / measured(n) <= HIGH]
    return min(near, key=lambda n: abs(ohm - measured(n)), default=0)
