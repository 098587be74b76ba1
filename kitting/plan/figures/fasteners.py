"""Screws: size, what they bear, how tight; screws in wood.

Source: VDI 2230-1 (tightening), ISO 898-1, ISO 3506-1, NDS equation 12.2-1. These are the screw's
limits: aluminium, plastic and terminals are weaker, and the maker's torque always wins. Stainless
screws need a lubricant.
"""

import math
from collections.abc import Callable
from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import number, one_of, whole

USED: Final = 0.9
"""Share of the yield point that tightening may use: VDI 2230-1 table A1."""
COARSE: Final = ("M5", "M6", "M8", "M10")
LAGS: Final = {"1/4": 0.25, "5/16": 0.3125, "3/8": 0.375}
"""Inch of a lag screw's shank."""


def stress_area(thread: str) -> float:
    """mm2 that bear: pi/4 x ((d2 + d3)/2)2 (ISO 898-1).

    >>> round(stress_area("M8"), 1)
    36.6
    """
    size = _thread(thread)
    flank = size["diameter"] - 0.6495 * size["pitch"]
    core = size["diameter"] - 1.2269 * size["pitch"]
    return math.pi / 4 * ((flank + core) / 2) ** 2


def preload(thread: str, strength: str, mu: float) -> float:
    """N of clamping force at 90 % of the yield point under tension and twist together (VDI 2230-1).

    >>> round(preload("M8x1", "8.8", 0.12))
    20243
    """
    size = _thread(thread)
    pitch, flank = size["pitch"], size["diameter"] - 0.6495 * size["pitch"]
    across = math.sqrt(4 * stress_area(thread) / math.pi)
    twist = 1.5 * flank / across * (pitch / (math.pi * flank) + 1.155 * mu)
    tension: float = USED * _class(strength)["yield"] / math.sqrt(1 + 3 * twist**2)
    return tension * stress_area(thread)


def torque(thread: str, strength: str, mu: float) -> float:
    """Nm, greatest: F x (0.16 P + 0.58 d2 mu + DKm mu / 2), friction alike in thread and head.

    >>> round(torque("M8", "8.8", 0.12), 1)
    24.6
    """
    size = _thread(thread)
    pitch, flank = size["pitch"], size["diameter"] - 0.6495 * size["pitch"]
    under_head = (size["washer_face"] + size["clearance"]) / 2
    arm = 0.16 * pitch + 0.58 * flank * mu + under_head * mu / 2
    return preload(thread, strength, mu) * arm / 1000


def tightening(thread: str, strength: str, mu: float) -> dict[str, float]:
    """Clamping force (kN) and torque (Nm) together."""
    return {
        "preload_kN": preload(thread, strength, mu) / 1000,
        "torque_Nm": torque(thread, strength, mu),
    }


def withdrawal(gravity: float, inch: float) -> float:
    """lb per inch of thread in side grain: W = 1800 G^1.5 D^0.75 (NDS equation 12.2-1).

    >>> round(withdrawal(0.42, 0.3125))
    205
    """
    found: float = 1800 * gravity**1.5 * inch**0.75
    return found


def held(gravity: float, inch: float, thread_inch: float, count: int) -> float:
    """lb reference withdrawal of `count` lag screws, before any adjustment factor.

    >>> round(held(0.42, 0.3125, 2.5, 4))
    2048
    """
    return withdrawal(gravity, inch) * thread_inch * count


def load(kind: str) -> Callable[[str, str], float]:
    """ultimate or proof: N of a coarse thread, ISO 898-1's printed cells."""

    def found(thread: str, strength: str) -> float:
        rows = {(row["thread"], row["class"]): row for row in lookup.table("screw_loads").rows}
        return float(rows[thread, strength][kind])

    return found


def older(thread: str, strength: str, mu: float, table: str) -> float:
    """Nm of the older table (friction 0.14): some 10 % below VDI 2230:2003."""
    rows = {(row["thread"], row["class"]): row for row in lookup.table("torque_older").rows}
    return float(rows[thread, strength]["torque"])


@cache
def _thread(thread: str) -> dict[str, float]:
    rows = {row["thread"]: row for row in lookup.table("metric_threads").rows}
    return {key: float(cell) for key, cell in rows[thread].items() if key != "thread"}


@cache
def _class(strength: str) -> dict[str, float]:
    rows = {row["class"]: row for row in lookup.table("screw_classes").rows}
    return {key: float(cell) for key, cell in rows[strength].items() if key != "class" and cell}


def _size(column: str) -> Callable[..., float]:
    return lambda thread, *head: _thread(thread)[column]


_VDI: Final = "VDI 2230-1, 90 % of Rp0.2, friction alike in thread and head, ISO 4014 head"
_ISO: Final = "ISO 261, ISO 4014, ISO 273 medium series"
_NDS: Final = "NDS equation 12.2-1: W = 1800 G^1.5 D^0.75, side grain, tip left out"
_STEEL: Final = {"thread": one_of(COARSE), "class": one_of(("8.8", "10.9"))}
_STAINLESS: Final = {"thread": one_of(COARSE), "class": one_of(("A2-70",))}
_ANY: Final = {
    "thread": one_of((*COARSE, "M8x1", "M10x1.25")),
    "class": one_of(("8.8", "10.9", "A2-70")),
    "mu": number(0.05, 0.4),
}
_HEX: Final = {"thread": one_of(COARSE), "head": one_of(("hex",))}

FIGURES: Final = (
    Figure("fast.pitch", "mm", _ISO, "ISO 261", _size("pitch"), {"thread": one_of(COARSE)}),
    Figure(
        "fast.area",
        "mm2",
        "ISO 898-1: pi/4 x ((d2 + d3)/2)2",
        "ISO 898-1:2013",
        lambda thread: round(stress_area(thread), 1),
        {"thread": one_of(COARSE)},
    ),
    Figure("fast.af", "mm across flats", _ISO, "ISO 4014:2011", _size("across_flats"), _HEX),
    Figure("fast.k", "mm head height", _ISO, "ISO 4014:2011", _size("head"), _HEX),
    Figure(
        "fast.clear",
        "mm medium clearance hole",
        _ISO,
        "ISO 273:1979",
        _size("clearance"),
        {"thread": one_of(COARSE)},
    ),
    Figure(
        "fast.ult", "N min tensile", "ISO 898-1 table 4", "ISO 898-1:2013", load("ultimate"), _STEEL
    ),
    Figure("fast.proof", "N proof", "ISO 898-1 table 5", "ISO 898-1:2013", load("proof"), _STEEL),
    Figure(
        "fast.a2.yield",
        "N at Rp0.2 450",
        "ISO 3506-1: Rp0.2 450 N/mm2 x stress area",
        "ISO 3506-1:2020",
        lambda thread, strength: stress_area(thread) * _class(strength)["yield"],
        _STAINLESS,
    ),
    Figure(
        "fast.a2.ult",
        "N at Rm 700",
        "ISO 3506-1: Rm 700 N/mm2 x stress area",
        "ISO 3506-1:2020",
        lambda thread, strength: stress_area(thread) * _class(strength)["tensile"],
        _STAINLESS,
    ),
    Figure("fast.torque", "Nm max", _VDI, "VDI 2230-1:2003", torque, _ANY),
    Figure(
        "fast.torque",
        "Nm max, older table",
        "an older machine manual's table, friction 0.14",
        "before VDI 2230:2003",
        older,
        {**_STEEL, "mu": one_of((0.14,)), "table": one_of(("older",))},
    ),
    Figure("fast.vdi", "kN, Nm", _VDI, "VDI 2230-1:2003", tightening, _ANY),
    Figure(
        "fast.lag",
        "lb per inch of thread, side grain",
        _NDS,
        "NDS 2018",
        lambda gravity, lag: withdrawal(gravity, LAGS[lag]),
        {"specific_gravity": number(0.3, 0.8), "lag_in": one_of(LAGS)},
    ),
    Figure(
        "fast.lagcap",
        "lb reference",
        _NDS,
        "NDS 2018",
        held,
        {
            "G": number(0.3, 0.8),
            "D_in": number(0.19, 1.25),
            "thread_in": number(0, 20, above=True),
            "count": whole(1, 1000),
        },
    ),
    *listed("anchor_rules"),
)
