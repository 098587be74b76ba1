"""Conduit by fill: what may lie in which conduit.

Source: NEC (NFPA 70) chapter 9 tables 1, 4 and 5 with notes 4, 6, 7 and 9. The exact rule is 0.40 x
the whole inner section; the printed 40 % column is rounded and gives one conductor too few in
places. The local code and a licensed electrician have the last word.
"""

import math
from collections.abc import Sequence
from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.conductors import NoFigure

INCH: Final = 25.4
"""mm"""
ENOUGH: Final = 0.8
"""Note 7: for like conductors a decimal of 0.8 and more counts as one more."""


def area(kind: str, trade: str) -> float:
    """Square inch of the whole inner section: NEC chapter 9 table 4. kind EMT or RMC; trade size as
    "3/4". Raises NoFigure.

    >>> area("EMT", "1-1/4"), area("RMC", "1/2")
    (1.496, 0.314)
    """
    return _figure(kind, trade, "area_in2")


def inner(kind: str, trade: str) -> float:
    """Inch across the inside. Raises NoFigure."""
    return _figure(kind, trade, "inner_in")


def outer(kind: str, trade: str) -> float:
    """Inch across the outside. Raises NoFigure.

    >>> inner("EMT", "1"), outer("EMT", "1")
    (1.049, 1.163)
    """
    return _figure(kind, trade, "outer_in")


def percent(conductors: int, nipple: bool = False) -> int:
    """Percent of the inner section that so many conductors may fill: table 1; a nipple of at most
    24 inch: note 4.

    >>> [percent(1), percent(2), percent(3), percent(9), percent(3, nipple=True)]
    [53, 31, 40, 40, 60]
    """
    return _percents()["nipple" if nipple else str(min(conductors, 3))]


def limit(whole: float, conductors: int, nipple: bool = False) -> float:
    """Area that so many conductors may fill, in the unit of `whole`.

    >>> round(limit(0.864, 3), 4)
    0.3456
    """
    return whole * percent(conductors, nipple) / 100


def most(whole: float, each: float, nipple: bool = False) -> int:
    """How many like conductors of area `each` a conduit of inner section `whole` takes, both in one
    unit: 40 % where that gives three or more, else 31 % for two, 53 % for one; a decimal of 0.8
    rounds up (note 7), but not in a nipple.

    >>> most(1.496, 0.0507), most(0.304, 0.2223)
    (12, 0)
    """
    if nipple:
        return math.floor(limit(whole, 3, nipple=True) / each + 1e-9)
    for conductors in (3, 2, 1):
        fit = math.floor(limit(whole, conductors) / each + 1 - ENOUGH + 1e-9)
        if fit >= conductors:
            return fit if conductors == 3 else conductors
    return 0


def filled(whole: float, areas: Sequence[float]) -> float:
    """Percent of the inner section that conductors fill: note 6.

    >>> round(filled(0.533, [0.0507] * 3 + [0.0211]), 1)
    32.5
    """
    return 100 * sum(areas) / whole


def takes(whole: float, areas: Sequence[float], nipple: bool = False, cables: bool = False) -> bool:
    """Whether a conduit takes these together: like conductors by `most`; mixed ones, and cables of
    several cores, by the bare percentage (stricter than note 7 read for cables).

    >>> takes(0.533, [0.0507] * 4), takes(0.533, [0.0507] * 5)
    (True, False)
    """
    if len(set(areas)) == 1 and not cables:
        return len(areas) <= most(whole, areas[0], nipple)
    return sum(areas) <= limit(whole, len(areas), nipple) + 1e-12


def circle(across: float) -> float:
    """Square inch of a cable of `across` mm: a multi-core cable counts as one conductor with its
    outer circle (note 9).

    >>> round(circle(25.4), 4)
    0.7854
    """
    return math.pi / 4 * (across / INCH) ** 2


def _figure(kind: str, trade: str, key: str) -> float:
    found = _conduits().get((kind, trade), {}).get(key, "")
    if not found:
        raise NoFigure(f"no published figure for {kind} {trade}")
    return float(found)


@cache
def _conduits() -> dict[tuple[str, str], dict[str, str]]:
    return {(row["kind"], row["trade"]): row for row in lookup.table("conduit").rows}


@cache
def _percents() -> dict[str, int]:
    return {row["conductors"]: int(row["percent"]) for row in lookup.table("conduit_fill").rows}
