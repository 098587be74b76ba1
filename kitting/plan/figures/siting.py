"""Where batteries may stand: energy by place, wall they take.

Source: NFPA 855 ch. 15 / IRC R328, AS/NZS 5139, PAS 63100 (tables/siting_rules.csv). Whether a
stack of modules is one unit depends on its listing; the authority decides, and a site is judged by
people who see it.
"""

from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import number, one_of, whole

PLACES: Final = ("closet", "attgarage", "detgarage", "outdoor")


def within(unit: float, units: int, place: str) -> bool:
    """Whether kWh per unit and in sum keep within the place's figure.

    >>> within(18, 2, "outdoor"), within(15, 3, "closet")
    (True, False)
    """
    return unit <= _limits()["unit"] and round(unit * units, 6) <= _limits()[place]


def wall(stacks: int, width: float, gap: float) -> float:
    """mm of wall that stacks take with a gap between each two.

    >>> wall(3, 600, 914)
    3628
    """
    return stacks * width + (stacks - 1) * gap


@cache
def _limits() -> dict[str, float]:
    rows = lookup.table("siting_rules").rows
    return {
        row["of"].removeprefix("855."): float(row["value"])
        for row in rows
        if row["figure"] == "store.855"
    }


_CODE: Final = "NFPA 855 ch. 15 / IRC R328 (R330 in 2024)"
_MM: Final = number(0, 100_000)

FIGURES: Final = (
    Figure(
        "store.site",
        "within energy limits",
        f"{_CODE}: 20 kWh per unit; 40 closet, 80 garage or outdoors",
        "NFPA 855:2023; IRC 2024",
        within,
        {
            "unit_kwh": number(0, 10_000, above=True),
            "units": whole(1, 1000),
            "location": one_of(PLACES),
        },
    ),
    Figure(
        "store.wall",
        "mm wall length",
        f"{_CODE}: 3 ft (914 mm) between units unless tested",
        "NFPA 855:2023; IRC 2024",
        wall,
        {"stacks": whole(1, 100), "width_mm": _MM, "gap_mm": _MM},
    ),
    *listed("siting_rules"),
)
