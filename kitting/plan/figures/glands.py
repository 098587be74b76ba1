"""Glands, threads and protection: which size holds a cable, what a numeral means.

Source: EN 62444 leaves the clamp range to the maker, so the ranges here are common practice and the
purchased part's own range goes first; IEC 60423 (threads), ASME B1.20.1 (NPT), IEC 60529 (IP).
Picked by the same rule as in the kit: least <= diameter <= most; nothing fits is said, never the
nearest.
"""

import re
from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.counting.fit import within
from kitting.plan.figure import Figure
from kitting.plan.inputs import Kind, Wrong, number, one_of

SIZES: Final = ("M12", "M16", "M20", "M25", "M32", "M40", "M50", "M63")
CLEARANCE: Final = 0.5
"""mm above the thread: the largest common clearance hole (common practice)."""
IMPLYING: Final = 6
"""Numerals up to this one hold the lower ones too (IEC 60529 clause 6)."""


def holding(diameter: float) -> list[str]:
    """Sizes whose typical clamp range holds a cable; none where nothing fits. mm.

    >>> holding(7.0), holding(50)
    (['M16', 'M20'], [])
    """
    return [size for size in SIZES if within(clamp(size), diameter)]


def clamp(size: str) -> list[float]:
    """mm that a gland of this size typically holds, least and most."""
    row = _sizes()[size]
    return [float(row["clamp_low"]), float(row["clamp_high"])]


def hole(size: str) -> float:
    """mm of the largest common clearance hole.

    >>> hole("M20")
    20.5
    """
    return float(_sizes()[size]["nominal"]) + CLEARANCE


def satisfies(rating: str, needs: str) -> bool:
    """Whether an enclosure's IP rating holds what is asked.

    >>> satisfies("IP67", "IP66"), satisfies("IP66", "IP54"), satisfies("IP66/IP67", "IP67")
    (False, True, True)
    """
    asked = _numerals(needs)
    return any(_holds(_numerals(one), asked) for one in rating.split("/"))


def _holds(has: tuple[int, int], asked: tuple[int, int]) -> bool:
    (solid, water), (dust, wet) = has, asked
    if water <= IMPLYING:
        return solid >= dust and water >= wet
    # Immersion says nothing about jets: 7 and 8 do not hold 5 and 6.
    return solid >= dust and (wet < 5 or IMPLYING < wet <= water)


def _numerals(rating: str) -> tuple[int, int]:
    found = re.fullmatch(r"IP([0-6])([0-8])", rating)
    if not found:
        raise Wrong(f"rating: expected IP and two numerals as IP66, got {rating!a}")
    return int(found[1]), int(found[2])


@cache
def _sizes() -> dict[str, dict[str, str]]:
    return {row["size"]: row for row in lookup.table("gland_sizes").rows}


@cache
def _npt() -> dict[str, dict[str, str]]:
    return {row["trade"]: row for row in lookup.table("npt").rows}


def _meaning(numeral: str, value: int) -> str:
    rows = {(row["numeral"], int(row["value"])): row for row in lookup.table("ip_code").rows}
    if (numeral, value) not in rows:
        raise Wrong(f"value: expected a numeral of the table, got {numeral} {value}")
    return rows[numeral, value]["meaning"]


def _rating(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError
    for one in value.split("/"):
        _numerals(one)
    return value


_PRACTICE: Final = "common practice, no source: EN 62444 leaves the range to the maker"
_ED: Final = "no edition: trade practice"
_SIZE: Final = {"size": one_of(SIZES)}
_IP: Final = Kind("an IP rating as IP66", _rating)
_TRADES: Final = ("1/2", "3/4", "1", "1-1/4", "1-1/2")
_NPT: Final = {"npt": one_of(_TRADES)}

FIGURES: Final = (
    Figure(
        "gland.pick",
        "sizes whose range holds the cable",
        f"the gland whose range holds the diameter; ranges {_PRACTICE}",
        _ED,
        lambda diameter, ranges: holding(diameter),
        {"cable_od_mm": number(0, 200, above=True)},
        {"ranges": one_of(("gland.clamp.*",))},
    ),
    Figure("gland.clamp", "mm cable diameter", _PRACTICE, _ED, clamp, _SIZE),
    Figure("gland.hole", "mm clearance hole", "common practice, no source", _ED, hole, _SIZE),
    Figure(
        "gland.pitch",
        "mm pitch",
        "IEC 60423",
        "IEC 60423:2007",
        lambda size: float(_sizes()[size]["pitch"]),
        _SIZE,
    ),
    Figure(
        "gland.spanner",
        "mm across flats typical",
        "common practice, no source",
        _ED,
        lambda size: float(_sizes()[size]["spanner"]),
        _SIZE,
    ),
    Figure(
        "gland.npt.od",
        "inch outside diameter",
        "ASME B1.20.1 table 2",
        "ASME B1.20.1-2013",
        lambda trade: float(_npt()[trade]["outside"]),
        _NPT,
    ),
    Figure(
        "gland.npt.tpi",
        "threads/inch",
        "ASME B1.20.1 table 2",
        "ASME B1.20.1-2013",
        lambda trade: float(_npt()[trade]["threads"]),
        _NPT,
    ),
    Figure(
        "gland.ko",
        "inch knockout hole",
        "NEMA/UL knockout sizes",
        "no edition: trade practice",
        lambda trade: float(_npt()[trade]["knockout"]),
        {"trade": one_of(_TRADES[:-1])},
    ),
    Figure(
        "gland.ip",
        "meaning",
        "IEC 60529 tables 2 and 3",
        "IEC 60529:2013",
        _meaning,
        {"numeral": one_of(("first", "second")), "value": number(0, 9)},
    ),
    Figure(
        "gland.ip",
        "satisfied",
        "IEC 60529 clause 6",
        "IEC 60529:2013",
        satisfies,
        {"rating": _IP, "needs": _IP},
    ),
)
