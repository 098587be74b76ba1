"""A van's room for mass and what each axle gets of it.

Source: payload = gross mass - mass in running order - persons - fitted kit; EU "mass in running
order" already holds a driver of 75 kg and 90 % fuel (Reg. (EU) 1230/2012 art. 2), so the driver is
not subtracted again. Axles by moments about the front axle; the van's papers give the axle limits.
"""

from collections.abc import Sequence
from typing import Final

from kitting.plan.figure import Figure
from kitting.plan.inputs import fields, flag, many, number, whole


def payload(
    gross: float, ready: float, with_driver: bool, persons: int, person: float, kit: float
) -> float:
    """kg left for the load. persons: those not yet inside the mass in running order.

    >>> payload(3500, 2150, True, 1, 75, 120)
    1155
    """
    return gross - ready - persons * person - kit


def axles(wheelbase: float, loads: Sequence[tuple[float, float]]) -> dict[str, float]:
    """kg that (kg, m behind the front axle) loads add to each axle; behind the rear axle they
    lift the front.

    >>> axles(3.5, [(400, 2.6), (150, 3.1)])
    {'rear_add_kg': 430.0, 'front_add_kg': 120.0}
    """
    rear = sum(kg * at for kg, at in loads) / wheelbase
    return {
        "rear_add_kg": round(rear, 6),
        "front_add_kg": round(sum(kg for kg, _ in loads) - rear, 6),
    }


_KG: Final = number(0, 60_000)
_METRE: Final = number(0, 20)

FIGURES: Final = (
    Figure(
        "van.payload",
        "kg left",
        "gross mass - mass in running order - persons - fitted kit; Reg. (EU) 1230/2012 art. 2",
        "Reg. (EU) 1230/2012",
        payload,
        {
            "gvm_kg": _KG,
            "kerb_kg": _KG,
            "kerb_includes_75kg_driver": flag,
            "persons_to_add": whole(0, 20),
            "person_kg": number(0, 300),
            "fixed_kit_kg": _KG,
        },
    ),
    Figure(
        "van.axle",
        "kg",
        "moments about the front axle",
        "no edition: mechanics",
        axles,
        {
            "wheelbase_m": number(0, 20, above=True),
            "loads": many(fields({"kg": _KG, "m_behind_front_axle": _METRE})),
        },
    ),
)
