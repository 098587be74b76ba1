"""Conduit by fill: areas, percentages, how many conductors go in; as the kit counts them.

Source: `kitting/plan/conduit.py`: NEC chapter 9 tables 1, 4 and 5 with notes 4, 6 and 7. The exact
rule is 0.40 x the whole area; the printed 40 % column is rounded.
"""

from collections.abc import Sequence
from typing import Any, Final

from kitting.plan import conductors, conduit
from kitting.plan.figure import Figure
from kitting.plan.figures.conductors import AWG
from kitting.plan.inputs import many, one_of, pair, whole

COLUMNS: Final = ("id_in", "area_in2", "fill53_in2", "fill31_in2", "fill40_in2")
"""Columns of NEC chapter 9 table 4."""
FILLED: Final = {"fill53_in2": 1, "fill31_in2": 2, "fill40_in2": 3}
"""Columns of a share of the area -> the conductors that may fill it."""


def fill(trade: str, cables: Sequence[tuple[str, int]]) -> dict[str, Any]:
    """Per cent of EMT that (AWG, count) THWN-2 conductors fill, and whether that is within 40 %.

    >>> fill("3/4", [("8", 4)])["ok_40"]
    True
    """
    areas = [conductors.insulated(awg)[1] for awg, count in cables for _ in range(count)]
    filled = conduit.filled(conduit.area("EMT", trade), areas)
    return {"percent": filled, "ok_40": filled <= conduit.percent(3)}


def _column(trade: str, column: str) -> float:
    if column == "id_in":
        return conduit.inner("EMT", trade)
    whole_area = conduit.area("EMT", trade)
    if column in FILLED:
        return round(conduit.limit(whole_area, FILLED[column]), 3)
    return whole_area


def _like(trade: str, awg: str, kind: str) -> int:
    return conduit.most(conduit.area("EMT", trade), conductors.insulated(awg, kind)[1])


def _percent(count: int | str) -> int:
    return conduit.percent(3, nipple=True) if isinstance(count, str) else conduit.percent(count)


_CH9: Final = "NEC chapter 9"
_NEC_ED: Final = "NEC 2023"
_THWN: Final = {"awg": one_of(AWG), "type": one_of(("THWN-2",))}
_TRADE: Final = one_of(("1/2", "3/4", "1", "1-1/4"))

FIGURES: Final = (
    Figure(
        "gland.emt.od",
        "inch outside diameter",
        "ANSI C80.3 / UL 797",
        "ANSI C80.3",
        lambda trade: conduit.outer("EMT", trade),
        {"emt": _TRADE},
    ),
    Figure(
        "gland.emt",
        "in or in2",
        f"{_CH9} table 4 article 358",
        _NEC_ED,
        _column,
        {"emt": _TRADE, "column": one_of(COLUMNS)},
    ),
    Figure(
        "gland.rmc",
        "in2",
        f"{_CH9} table 4 article 344",
        _NEC_ED,
        lambda trade: conduit.area("RMC", trade),
        {"rmc": _TRADE},
    ),
    Figure(
        "gland.fill",
        "% of raceway area",
        f"{_CH9} table 1 and note 4",
        _NEC_ED,
        _percent,
        {"conductors": one_of((*range(1, 101), "nipple<=24in"))},
    ),
    Figure(
        "gland.fillcount",
        "conductors",
        f"{_CH9} tables 1, 4 and 5 with note 7, as annex C counts",
        _NEC_ED,
        _like,
        {"emt": _TRADE, **_THWN},
    ),
    Figure(
        "gland.fillmix",
        "%",
        f"{_CH9} note 6 with tables 4 and 5",
        _NEC_ED,
        fill,
        {"emt": _TRADE, "conductors": many(pair(one_of(AWG), whole(1, 200)))},
    ),
)
