"""Carrying batteries: ADR's two tests, packing path, energy, the shock test, US materials of trade.

Source: ADR 1.1.3.6.3, 1.1.3.6.4, special provisions 188 and 376, P903; UN Manual of Tests and
Criteria 38.3; 49 CFR 173.6. It says what the rule says; the dangerous goods adviser and the
authority decide. A hot, smoking, hissing, leaking or swollen battery is not loaded: people away,
fire service.
"""

import math
from collections.abc import Sequence
from functools import cache
from typing import Any, Final, NamedTuple

from kitting.plan import lookup
from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import fields, flag, many, number, one_of

MOST_POINTS: Final = 1000
"""ADR 1.1.3.6.4, all categories together."""
LITHIUM: Final = 2
"""Transport category of UN 3480 and 3481 (ADR table A column 15)."""
SMALL_WH: Final = 100
"""SP 188: greatest energy of a battery that needs little more than its mark."""
HEAVY_KG: Final = 12
"""P903(2): from this gross mass a battery with a strong casing has lighter packing rules."""
TRADE_PACKAGE_KG, TRADE_VEHICLE_KG = 30, 200
"""49 CFR 173.6: gross mass per package and on the vehicle."""
CATEGORIES: Final = (0, 1, "1a", 2, 3, 4)


class Category(NamedTuple):
    """One transport category of ADR 1.1.3.6.3."""

    multiplier: float | None
    """Points per kg or litre; None: none may be carried under the exemption."""
    most: float | None
    """kg or litre of this category alone; None: no bound."""


@cache
def category(key: int | str) -> Category:
    """The row of a transport category.

    >>> category(2)
    Category(multiplier=3.0, most=333.0)
    """
    row = {row["category"]: row for row in lookup.table("transport_categories").rows}[str(key)]
    cells = [float(row[name]) if row[name] else None for name in ("multiplier", "most")]
    return Category(*cells)


class Judged(NamedTuple):
    """Both tests of ADR 1.1.3.6 on a load."""

    points: float
    """Sum of quantity x multiplier."""
    over: tuple[int | str, ...]
    """Categories whose own greatest quantity is passed."""

    @property
    def within(self) -> bool:
        """Both tests are met."""
        return self.points <= MOST_POINTS and not self.over


def judge(lines: Sequence[tuple[int | str, float]]) -> Judged:
    """Both tests on (category, kg or litre) lines: 1000 points together, each category's own limit.

    >>> judge([(2, 333.3)]).within, round(judge([(2, 333.3)]).points, 1)
    (False, 999.9)
    """
    sums: dict[int | str, float] = {}
    for key, amount in lines:
        sums[key] = sums.get(key, 0) + amount
    points = sum(amount * (category(key).multiplier or 0) for key, amount in sums.items())
    limits = {key: category(key).most for key in sums}
    over = tuple(
        key
        for key, amount in sums.items()
        if (most := limits[key]) is not None and round(amount, 6) > most
    )
    return Judged(round(points, 6), over)


def points(lines: Sequence[tuple[int | str, float]]) -> dict[str, Any]:
    """Points, whether both tests are met, and where only a category's own limit is passed."""
    judged = judge(lines)
    told: dict[str, Any] = {"points": judged.points, "within": judged.within}
    if judged.points <= MOST_POINTS:
        told |= {
            f"single_category_limit_{category(key).most:g}_exceeded": True for key in judged.over
        }
    return told


def route(watt_hours: float, gross_kg: float, damaged: bool, reacts: bool) -> str:
    """Which packing instruction a lithium battery falls under.

    >>> route(5120, 48, True, False)
    'P908/LP904'
    """
    if reacts:
        return "P911/LP906"
    if damaged:
        return "P908/LP904"
    if watt_hours <= SMALL_WH:
        return "SP188"
    return "P903(2) possible" if gross_kg >= HEAVY_KG else "P903(1)"


def energy(volt: float, amp_hours: float) -> dict[str, Any]:
    """Rated Wh and whether SP 188 reaches it."""
    watt_hours = round(volt * amp_hours, 6)
    return {"Wh": watt_hours, "within_100": watt_hours <= SMALL_WH}


def shock(battery_kg: float) -> float:
    """g of the shock test for a large battery: min(50, sqrt(30000 / m)).

    >>> shock(12), round(shock(50), 2)
    (50.0, 24.49)
    """
    return min(50.0, math.sqrt(30_000 / battery_kg))


def material_of_trade(package_kg: float, total_kg: float) -> bool:
    """Whether gross masses are within 49 CFR 173.6 (PG II level)."""
    return package_kg <= TRADE_PACKAGE_KG and total_kg <= TRADE_VEHICLE_KG


def _limits(key: int | str) -> dict[str, float | None]:
    row = category(key)
    return {"multiplier": row.multiplier, "max_total": row.most}


_ADR: Final = "ADR 1.1.3.6.3 and 1.1.3.6.4"
_ED: Final = "ADR 2023"
_KG: Final = number(0, 100_000)
_ENERGIES: Final = {
    "wh.SP188_battery": ("SP188 battery", SMALL_WH, "ADR SP 188"),
    "wh.SP188_cell": ("SP188 cell", 20, "ADR SP 188"),
    "wh.US_ground_battery_173": (
        "US ground battery 173.185(c)",
        300,
        "49 CFR 173.185(c)(1)(iv), highway and rail only",
    ),
    "wh.US_ground_cell_173": (
        "US ground cell 173.185(c)",
        60,
        "49 CFR 173.185(c)(1)(iv), highway and rail only",
    ),
}


def _energy_limit(name: str, words: str, watt_hours: int, source: str) -> Figure:
    edition = "49 CFR" if "CFR" in source else _ED
    keys = {"limit": one_of((words,))}
    return Figure(name, "Wh", source, edition, lambda limit: watt_hours, keys)


FIGURES: Final = (
    Figure(
        "adr.points",
        "points",
        f"{_ADR}: 1000 points together and each category's own limit",
        _ED,
        points,
        {"lines": many(fields({"category": one_of(CATEGORIES), "kg_or_l": _KG}))},
    ),
    Figure(
        "adr.cat",
        "points per kg or l; kg or l",
        _ADR,
        _ED,
        _limits,
        {"category": one_of(CATEGORIES)},
    ),
    Figure(
        "adr.cat",
        "transport category",
        "ADR 3.2 table A column 15",
        _ED,
        lambda numbers: LITHIUM,
        {"un": many(one_of((3480, 3481)), 1, 2)},
    ),
    Figure(
        "adr.route",
        "packing path",
        "ADR SP 188, SP 376 and P903",
        _ED,
        route,
        {
            "wh": number(0, 10_000_000),
            "gross_kg": _KG,
            "damaged": flag,
            "liable_to_react": flag,
        },
    ),
    Figure(
        "wh.calc",
        "Wh",
        "rated Wh = V x Ah (ADR 1.2.1)",
        _ED,
        energy,
        {"volt": number(0, 10_000), "amp_hour": number(0, 100_000)},
    ),
    *(_energy_limit(name, *rest) for name, rest in _ENERGIES.items()),
    Figure(
        "un383.shock",
        "g peak, 11 ms",
        "UN Manual of Tests and Criteria 38.3.4.4, large battery",
        "revision 7",
        shock,
        {"battery_kg": number(0, 100_000, above=True)},
    ),
    Figure(
        "tr.us",
        "material of trade possible",
        "49 CFR 173.6 with PHMSA letter 19-0041",
        "49 CFR",
        material_of_trade,
        {"package_gross_kg": _KG, "total_kg": _KG},
    ),
    *listed("transport_rules"),
)
