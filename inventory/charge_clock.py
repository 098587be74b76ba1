"""How long a charge lasts on the shelf, counted through warm and cool places alike.

Each day takes its share: a day where the rule says 100 days uses a hundredth of the charge. So a
week on a hot dock costs its week of the short interval, not the whole interval.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Band:
    """A rule: kept at or below `up_to_c`, a charge lasts `days`."""

    up_to_c: int  # degrees Celsius
    days: int


@dataclass(frozen=True, slots=True)
class Stay:
    """From this day on it stood where it is kept at or below `warmest_c`."""

    since: date
    warmest_c: int | None  # degrees Celsius; None: nobody said, the shortest interval counts


def interval(bands: Sequence[Band], warmest_c: int | None) -> int:
    """Return how many days a charge lasts there; 0 where it is warmer than every rule.

    >>> interval([Band(25, 300), Band(35, 150)], 30)
    150
    """
    if warmest_c is None:
        return min(band.days for band in bands)
    fitting = [band for band in bands if band.up_to_c >= warmest_c]
    return min(fitting, key=lambda band: band.up_to_c).days if fitting else 0


def due_on(charged: date, stays: Sequence[Stay], bands: Sequence[Band]) -> date:
    """Return the day on which the charge of `charged` is used up.

    stays: in order, the first before or on the day of the charge; the last goes on for ever.
    A stay where no rule allows it uses the charge up at once.
    """
    left, ends = Fraction(1), [stay.since for stay in stays[1:]]
    if not stays or stays[0].since > charged:
        raise ValueError("stays: expected the first on the day of the charge or before it")
    for stay, end in zip(stays, [*ends, None], strict=True):
        start, days = max(stay.since, charged), interval(bands, stay.warmest_c)
        if end is not None and end <= charged:
            continue
        if not days:
            return start
        lasts = start + timedelta(days=int(left * days))
        if end is None or lasts <= end:
            return lasts
        left -= Fraction((end - start).days, days)
    raise AssertionError("the last stay has no end")
