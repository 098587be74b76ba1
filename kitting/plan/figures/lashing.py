"""Holding a load: straps over it, blocking before it.

Source: EN 12195-1:2010, n = (c - mu) m g fs / (2 mu STF sin a), F = (c - mu) m g; VDI 2700 sheet 16
for vans. **EN 12195-1:2010 does not apply to vehicles of 3.5 t or less.** A result of 0 or 1 still
means two straps for a loose piece (common practice); look at tipping too, and never strap over a
battery's covers.
"""

import math
from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import number, one_of

G: Final = 9.81
"""m/s2"""
N_PER_DAN: Final = 10


def straps(
    mass: float, mu: float, force: float, surety: float, tension: float, degrees: float
) -> dict[str, float]:
    """Straps over a load: the exact number and the next whole one. mass kg, force in g, tension of
    the ratchet in daN, degrees between strap and floor.

    >>> straps(1000, 0.4, 0.8, 1.25, 500, 90)["straps"]
    2
    """
    needed = (force - mu) * mass * G * surety
    each = 2 * mu * tension * N_PER_DAN * math.sin(math.radians(degrees))
    exact = max(0.0, needed / each)
    return {"n": exact, "straps": math.ceil(exact - 1e-9)}


def blocking(mass: float, mu: float, force: float) -> float:
    """daN a wall or bar must take.

    >>> round(blocking(500, 0.3, 0.8), 1)
    245.2
    """
    return max(0.0, (force - mu) * mass * G / N_PER_DAN)


def forces(gross: str) -> dict[str, float]:
    """g forward, sideways and rearward by the van's gross mass."""
    row = _vans()[gross]
    return {key: float(row[key]) for key in ("forward", "sideways", "rearward")}


@cache
def _vans() -> dict[str, dict[str, str]]:
    return {row["gross"]: row for row in lookup.table("van_forces").rows}


_EN: Final = "EN 12195-1:2010 form; the standard does not apply to vehicles of 3.5 t or less"
_LOAD: Final = {"mass_kg": number(0, 50_000), "mu": number(0, 1, above=True), "c": number(0, 2)}
_OVER: Final = {
    **_LOAD,
    "fs": number(1, 2),
    "stf_daN": number(0, 5000, above=True),
    "angle_deg": number(0, 90, above=True),
}

FIGURES: Final = (
    Figure("lash.top", "straps", _EN, "EN 12195-1:2010", straps, _OVER),
    Figure("lash.block", "daN blocking force", _EN, "EN 12195-1:2010", blocking, _LOAD),
    Figure(
        "lash.van",
        "straps",
        "EN 12195-1 form with the accelerations of VDI 2700 sheet 16",
        "VDI 2700 sheet 16",
        straps,
        _OVER,
    ),
    Figure(
        "lash.van",
        "g",
        "VDI 2700 sheet 16",
        "VDI 2700 sheet 16",
        forces,
        {"vehicle_gvm": one_of(("<=2.0 t", "2.0-3.5 t", ">3.5 t"))},
    ),
    *listed("lashing_friction"),
)
