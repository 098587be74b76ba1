"""How long a stored pack keeps its charge, and the rules of storing it.

Source: storage guides and VdS 3103:2019-06, IFC 320 (each row of tables/storage_rules.csv names its
own); linear self-discharge. Standby electronics use far more than self-discharge: a pack is stored
switched off. The maker's manual, the insurer and the fire service decide.
"""

from typing import Final

from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import Wrong, number

HOURS: Final = 24


def months(start: float, floor: float, per_month: float) -> float:
    """Months until a stored pack is down to `floor` per cent of its rated charge.

    >>> months(50, 20, 3)
    10.0
    """
    if floor > start:
        raise Wrong(f"soc_floor: expected at most soc_start = {start:g}, got {floor:g}")
    return (start - floor) / per_month


def standby(watt: float, days: float) -> float:
    """kWh that electronics left on take.

    >>> standby(5, 30)
    3.6
    """
    return watt * days * HOURS / 1000


_SHARE: Final = number(0, 100)

FIGURES: Final = (
    Figure(
        "store.months",
        "months",
        "linear self-discharge of the rated charge",
        "no edition: trade practice",
        months,
        {
            "soc_start": _SHARE,
            "soc_floor": _SHARE,
            "percent_of_rated_per_month": number(0, 100, above=True),
        },
    ),
    Figure(
        "store.standby",
        "kWh per month",
        "W x h",
        "no edition: arithmetic",
        standby,
        {"standby_w": number(0, 10_000), "days": number(0, 10_000)},
    ),
    *listed("storage_rules"),
)
