"""Lifting by hand: the NIOSH lifting index, HSE's filter and team figures.

Source: NIOSH publication 94-110 (revised 9/2021); HSE L23, INDG143 and INDG383. NIOSH leaves out
team, one-handed, seated and stair lifts and poor floors. A figure is no permission: the firm's own
lifting assessment decides, and above some 25 kg two people or a lifting aid are asked.
"""

import math
from collections.abc import Sequence
from functools import cache
from typing import Any, Final, NamedTuple

from kitting.plan import lookup
from kitting.plan.figure import Figure
from kitting.plan.inputs import Wrong, fields, many, number, one_of

DURATIONS: Final = ("<=1h", "1-2h", "2-8h")
LOW, HIGH = "<30in", ">=30in"
COUPLINGS: Final = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.9, 0.9)}
"""Hold -> factor below and from 75 cm (NIOSH table 7)."""
TEAM: Final = {1: 1.0, 2: 2 / 3, 3: 1 / 2}
"""People -> share of the sum of what each lifts alone (HSE L23); more people have no figure."""
SLOWEST: Final = 0.2
MOST_TURN: Final = 135


class Units(NamedTuple):
    """One of the two forms of the equation."""

    constant: float
    """kg or lb that may be lifted at best."""
    reach: float
    """Cm or inch: least distance of the hands from the ankles."""
    reach_most: float
    knuckle: float
    """Height of the hands at which nothing is deducted."""
    height: float
    """Deduction per cm or inch from there."""
    height_most: float
    travel: tuple[float, float]
    """DM = first + second / distance."""
    travel_ends: tuple[float, float]


METRIC: Final = Units(23, 25, 63, 75, 0.003, 175, (0.82, 4.5), (25, 175))
INCH: Final = Units(51, 10, 25, 30, 0.0075, 70, (0.82, 1.8), (10, 70))


class Lift(NamedTuple):
    """What is measured of one lift."""

    reach: float
    """Hands before the ankles, cm or inch."""
    height: float
    """Hands above the floor."""
    travel: float
    """How far up or down."""
    turn: float
    """Degrees the body turns."""
    per_minute: float
    duration: str
    coupling: str
    origin: float | None = None
    """Height of the hands at the start, where `height` is that at the end."""


def reach_factor(reach: float, units: Units = METRIC) -> float:
    """HM: 25/H, nothing beyond 63 cm.

    >>> reach_factor(50), reach_factor(64)
    (0.5, 0.0)
    """
    return 0.0 if reach > units.reach_most else units.reach / max(reach, units.reach)


def height_factor(height: float, units: Units = METRIC) -> float:
    """VM: 1 - 0.003 |V - 75|, nothing above 175 cm."""
    return 0.0 if height > units.height_most else 1 - units.height * abs(height - units.knuckle)


def travel_factor(travel: float, units: Units = METRIC) -> float:
    """DM: 0.82 + 4.5/D, nothing above 175 cm."""
    least, most = units.travel_ends
    first, second = units.travel
    return 0.0 if travel > most else first + second / max(travel, least)


def turn_factor(degrees: float) -> float:
    """AM: 1 - 0.0032 A, nothing above 135 degrees."""
    return 0.0 if degrees > MOST_TURN else 1 - 0.0032 * degrees


def frequency_factor(per_minute: float, duration: str, low: bool) -> float:
    """FM of NIOSH table 5; between two rows the stricter, beyond the last nothing.

    >>> frequency_factor(3, "<=1h", True), frequency_factor(2.5, "<=1h", True)
    (0.88, 0.88)
    """
    asked = max(per_minute, SLOWEST)
    column = "low" if low else "high"
    for upto, row in _frequencies(duration):
        if asked <= upto:
            return float(row[column])
    return 0.0


def coupling_factor(coupling: str, low: bool) -> float:
    """CM of NIOSH table 7."""
    return COUPLINGS[coupling][0 if low else 1]


def factors(lift: Lift, units: Units) -> tuple[float, ...]:
    """HM, VM, DM, AM, FM, CM; FM looks at the height at the start, CM at the point judged."""
    start = lift.height if lift.origin is None else lift.origin
    return (
        reach_factor(lift.reach, units),
        height_factor(lift.height, units),
        travel_factor(lift.travel, units),
        turn_factor(lift.turn),
        frequency_factor(lift.per_minute, lift.duration, start < units.knuckle),
        coupling_factor(lift.coupling, lift.height < units.knuckle),
    )


def weight_limit(lift: Lift, units: Units = METRIC) -> float:
    """RWL in kg or lb, full precision."""
    return units.constant * math.prod(factors(lift, units))


def index(load: float, limit: float) -> float | None:
    """LI; None where no weight at all is recommended."""
    return load / limit if limit > 0 else None


def _metric(load: float, *lift: Any) -> dict[str, float | None]:
    limit = weight_limit(Lift(*lift))
    return {"RWL_kg": limit, "LI": index(load, limit)}


def _printed(load: float, *lift: Any) -> dict[str, float | None]:
    """As the manual's worksheets do it: factors at two decimals, limit and index at one."""
    measured = Lift(*lift)
    exact = factors(measured, INCH)
    # Table 1 prints .44 at 23 inch where the formula gives .435; worksheets take the print.
    printed = _horizontal().get(measured.reach, _decimals(exact[0], 2))
    limit = INCH.constant * math.prod((printed, *(_decimals(one, 2) for one in exact[1:])))
    shown = _decimals(limit, 1)
    ratio = index(load, shown)
    return {
        "RWL_lb": shown,
        "LI": None if ratio is None else _decimals(ratio, 1),
        "RWL_full_precision": round(weight_limit(measured, INCH), 2),
    }


def _with_factors(
    load: float, reach: float, height: float, travel: float, turn: float, fm: float, cm: float
) -> dict[str, float | None]:
    limit = METRIC.constant * reach_factor(reach) * height_factor(height) * travel_factor(travel)
    limit *= turn_factor(turn) * fm * cm
    return {"RWL_kg": limit, "LI": index(load, limit)}


def several(tasks: Sequence[tuple[float, float, float]], duration: str, v: str) -> dict[str, Any]:
    """Composite index of several tasks in turn (NIOSH 2.4.5). tasks: load, lifts a minute, limit
    without frequency; all in one unit."""
    low = v == LOW
    single = [limit * frequency_factor(rate, duration, low) for _, rate, limit in tasks]
    alone = [load / limit for load, _, limit in tasks]
    each = [index(load, limit) for (load, _, _), limit in zip(tasks, single, strict=True)]
    if None in each:
        raise Wrong("tasks: expected a frequency with a figure in NIOSH table 5, got one too high")
    indices = [one for one in each if one is not None]
    worst = sorted(range(len(tasks)), key=lambda at: -indices[at])
    total, rate, before = indices[worst[0]], tasks[worst[0]][1], 0.0
    before = frequency_factor(rate, duration, low)
    for at in worst[1:]:
        rate += tasks[at][1]
        now = frequency_factor(rate, duration, low)
        if not now:
            raise Wrong(f"tasks: expected a sum in NIOSH table 5, got {rate:g} lifts a minute")
        total += alone[at] * (1 / now - 1 / before)
        before = now
    return {"STRWL": single, "FILI": alone, "STLI": indices, "CLI": total}


def team(each: Sequence[float]) -> float:
    """kg a team may share by HSE's guide: two people 2/3, three 1/2 of the sum.

    >>> round(team([25, 25]), 1)
    33.3
    """
    if len(each) not in TEAM:
        raise Wrong(f"individual_kg: expected 1 to 3 people (HSE has no figure), got {len(each)}")
    return math.fsum(each) * TEAM[len(each)]


def filter_kg(zone: str, reach: str) -> dict[str, int]:
    """HSE's lifting filter: kg for men and women by zone of the body and reach."""
    rows = {(row["zone"], row["reach"]): row for row in lookup.table("hse_lifting").rows}
    row = rows[zone, reach]
    return {"men": int(row["men"]), "women": int(row["women"])}


def bands(people: int) -> dict[str, int]:
    """HSE's bands for a team's load."""
    rows = {int(row["people"]): row for row in lookup.table("hse_team").rows}
    return {key: int(cell) for key, cell in rows[people].items() if key != "people"}


@cache
def _frequencies(duration: str) -> tuple[tuple[float, dict[str, str]], ...]:
    rows = lookup.table("niosh_frequency").rows
    return tuple((float(row["upto"]), row) for row in rows if row["duration"] == duration)


@cache
def _horizontal() -> dict[float, float]:
    rows = lookup.table("niosh_horizontal").rows
    return {float(row["inch"]): float(row["printed"]) for row in rows}


def _decimals(value: float, places: int) -> float:
    """Half up, as a person at a worksheet rounds."""
    whole: int = 10**places
    return math.floor(value * whole + 0.5 + 1e-9) / whole


_NIOSH: Final = "NIOSH 94-110"
_ED: Final = "NIOSH 94-110, 1994, revised 9/2021"
_L: Final = number(0, 1000, above=True)
_CM: Final = {
    "L_kg": _L,
    "H_cm": number(0, 300),
    "V_cm": number(0, 300),
    "D_cm": number(0, 300),
    "A_deg": number(0, 180),
}
_IN: Final = {
    "L": _L,
    "H": number(0, 120),
    "V": number(0, 120),
    "D": number(0, 120),
    "A": number(0, 180),
}
_HOW: Final = {"F": number(0, 60), "dur": one_of(DURATIONS), "C": one_of(COUPLINGS)}
_FACTOR: Final = number(0, 1)
_V: Final = one_of((LOW, HIGH))
_ZONES: Final = ("head", "shoulder", "elbow", "knuckle", "lower leg")

FIGURES: Final = (
    Figure("lift.HM", "HM", f"{_NIOSH} table 1: 25/H", _ED, reach_factor, {"H_cm": _CM["H_cm"]}),
    Figure(
        "lift.VM",
        "VM",
        f"{_NIOSH} table 2: 1 - 0.003|V - 75|",
        _ED,
        height_factor,
        {"V_cm": _CM["V_cm"]},
    ),
    Figure(
        "lift.DM",
        "DM",
        f"{_NIOSH} table 3: 0.82 + 4.5/D",
        _ED,
        travel_factor,
        {"D_cm": _CM["D_cm"]},
    ),
    Figure(
        "lift.AM",
        "AM",
        f"{_NIOSH} table 4: 1 - 0.0032 A",
        _ED,
        turn_factor,
        {"A_deg": _CM["A_deg"]},
    ),
    Figure(
        "lift.FM",
        "FM",
        f"{_NIOSH} table 5",
        _ED,
        lambda rate, duration, v: frequency_factor(rate, duration, v == LOW),
        {"lifts_per_min": number(0, 60), "duration": one_of(DURATIONS), "V": _V},
    ),
    Figure(
        "lift.CM",
        "CM",
        f"{_NIOSH} table 7",
        _ED,
        lambda coupling, v: coupling_factor(coupling, v.startswith("<")),
        {"coupling": one_of(COUPLINGS), "V": one_of(("<30in/75cm", ">=30in/75cm"))},
    ),
    Figure(
        "lift.ex",
        "lb, -",
        f"{_NIOSH}, worksheet form: factors at 2 decimals, limit and index at 1",
        _ED,
        _printed,
        {**_IN, **_HOW},
        {"V_origin": _IN["V"]},
        ("example", "units", "rounding"),
    ),
    Figure(
        "lift.ex",
        "kg",
        f"{_NIOSH}, metric equation, full precision",
        _ED,
        _metric,
        {**_CM, **_HOW},
        {"V_origin_cm": _CM["V_cm"]},
    ),
    Figure(
        "lift.ex",
        "-",
        f"{_NIOSH} section 2.4.5: composite index",
        _ED,
        several,
        {
            "tasks": many(fields({"L": _L, "F": number(0, 60), "FIRWL": _L}), 2, 20),
            "duration": one_of(DURATIONS),
            "V": _V,
        },
    ),
    Figure(
        "lift.ex",
        "lifts/min",
        f"{_NIOSH} section 1.3.5.5: work in bursts of 15 minutes",
        _ED,
        lambda rate, minutes: rate * minutes / 15,
        {"lifts_per_min_while_lifting": number(0, 60), "minutes_lifting_of_15": number(0, 15)},
    ),
    Figure(
        "lift.ex",
        "kg RWL",
        f"{_NIOSH}: product of the seven factors",
        _ED,
        lambda *values: math.prod(values),
        {
            "LC": number(0, 51),
            **dict.fromkeys(("HM", "VM", "DM", "AM", "FM", "CM"), _FACTOR),
        },
    ),
    Figure(
        "lift.calc",
        "kg",
        f"{_NIOSH}, metric equation, full precision",
        _ED,
        _with_factors,
        {**_CM, "FM": _FACTOR, "CM": _FACTOR},
        notes=("case",),
    ),
    Figure(
        "lift.hse",
        "kg",
        "HSE L23 / INDG143 lifting filter",
        "INDG143(rev4), 2020",
        filter_kg,
        {"zone": one_of(_ZONES), "reach": one_of(("close", "arm length"))},
    ),
    Figure(
        "lift.team",
        "kg team guide",
        "HSE L23: two people 2/3 of the sum, three 1/2",
        "HSE L23, 2016",
        team,
        {"individual_kg": many(number(0, 100, above=True), 1, 20)},
    ),
    Figure(
        "lift.mac",
        "kg",
        "HSE MAC tool INDG383, team bands",
        "INDG383(rev3)",
        bands,
        {"people": one_of((2, 3))},
    ),
)
