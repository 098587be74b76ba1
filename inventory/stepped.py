"""A line of steps over time, as a drawing of our own: what a quantity was from when to when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

WIDE, HIGH = 640, 200  # drawing units
LEFT, RIGHT, TOP, FOOT = 70, 16, 14, 30  # around the line


@dataclass(frozen=True, slots=True)
class Mark:
    """A line across the drawing with its words."""

    at: float  # drawing units, from the left or from above
    words: str


@dataclass(frozen=True, slots=True)
class Line:
    """One stepped line."""

    path: str  # of SVG
    kind: str  # how the page draws it
    words: str  # what it is
    end: float  # drawing units from above, where it ends


@dataclass(frozen=True, slots=True)
class Steps:
    """A drawing of lines of steps; width and height as the page needs them."""

    lines: tuple[Line, ...]
    days: tuple[Mark, ...]
    levels: tuple[Mark, ...]
    now: float | None  # drawing units from the left; None: it is not in the drawing

    wide = WIDE
    high = HIGH
    left = LEFT
    right = WIDE - RIGHT
    top = TOP
    foot = HIGH - FOOT


Points = Sequence[tuple[float, float]]


def across(when: float, first: float, last: float) -> float:
    """Drawing units from the left of a moment; one before the first stands there, likewise last."""
    share = (when - first) / (last - first) if last > first else 0.0
    share = min(max(share, 0.0), 1.0)
    return round(LEFT + share * (WIDE - LEFT - RIGHT), 1)


def down(value: float, most: float) -> float:
    """Drawing units from above of a value between none and the most."""
    share = value / most if most else 0.0
    return round(HIGH - FOOT - share * (HIGH - TOP - FOOT), 1)


def path(points: Points, first: float, last: float, most: float) -> str:
    """Return the path of a value that stays as it is until the next point. points: (when, value).

    >>> path([(0, 0), (5, 2)], 0, 10, 2)
    'M70.0 170.0H347.0V14.0H624.0'
    """
    if not points:
        return ""
    (when, value), *rest = points
    drawn = f"M{across(when, first, last)} {down(value, most)}"
    for when, value in rest:
        drawn += f"H{across(when, first, last)}V{down(value, most)}"
    return f"{drawn}H{across(last, first, last)}"


def round_up(value: float) -> int:
    """Return the next of 1, 2, 5, 10, 20 and so on.

    >>> round_up(3), round_up(20), round_up(0)
    (5, 20, 1)
    """
    ten = 1
    while True:
        for step in (1, 2, 5):
            if step * ten >= value:
                return step * ten
        ten *= 10
