"""Conductors: drop, resistance, what a conductor carries, how thick it is; as the kit counts them.

Source: `kitting/plan/conductors.py`, each function with its own. The local code and a licensed
electrician have the last word on conductor size.
"""

from typing import Any, Final

from kitting.plan import conductors, lookup
from kitting.plan.figure import Figure
from kitting.plan.inputs import Wrong, number, one_of, whole

SYSTEMS: Final = {"dc": "dc", "1ph": "single phase", "3ph": "three phase"}
M_PER_FT: Final = 0.3048
MM_PER_INCH: Final = 25.4
AWG: Final = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
AREAS: Final = (0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120)
AMBIENTS: Final = {"31-35": 35, "36-40": 40, "41-45": 45, "46-50": 50}
"""Bands of NEC table 310.15(B)(1)(1) -> their warm end, C."""
BUNDLES: Final = {"4-6": 6, "7-9": 9, "10-20": 20}


def drop(kind: str, metres: float, amps: float, ohm_km: float, volts: float) -> dict[str, float]:
    """V and per cent lost over a run of so many metres one way.

    >>> round(drop("dc", 8, 63, 1.21, 51.2)["percent"], 3)
    2.382
    """
    volt = conductors.drop(SYSTEMS[kind], metres, amps, ohm_km)
    return {"volt": volt, "percent": 100 * volt / volts}


def drop_in_feet(
    kind: str, feet: float, amps: float, ohm_kft: float, volts: float
) -> dict[str, float]:
    """The same in feet and ohm per 1,000 feet."""
    return drop(kind, feet * M_PER_FT, amps, conductors.per_km(ohm_kft), volts)


def _resistance(area: float, stranding: int, finish: str, temp: float) -> float:
    return conductors.resistance(area, stranding, finish)


def _carries(awg: str, column: int, ambient: float, together: int | None) -> float:
    return conductors.nec_carries(awg, column, round(ambient), together or 3)


def _outer(cable: str) -> Any:
    least, usual, most = conductors.outer(cable)
    if usual == usual:  # a figure that is not said is no number, unequal to itself
        return usual
    return [least, most] if least == least else most


def _factor(steps: conductors.Steps, value: int) -> float:
    try:
        return conductors.factor(steps, value, "value")
    except conductors.NoFigure as error:
        raise Wrong(str(error)) from error


_NEC: Final = "NEC (NFPA 70)"
_NEC_ED: Final = "NEC 2023"
_CH9: Final = "NEC chapter 9"
_DROP: Final = "2 x L x I x R, three phase sqrt 3 x L x I x R (power factor 1, reactance left out)"
_AWG: Final = {"awg": one_of(AWG)}
_COLUMN: Final = {"column_c": one_of(conductors.COLUMNS)}
_THWN: Final = {**_AWG, "type": one_of(("THWN-2",))}
_OHM: Final = number(0, 1000, above=True)
_AMPS: Final = number(0, 10_000)
_CELSIUS: Final = number(-40, 250)
_RUN: Final = {"kind": one_of(SYSTEMS)}
_IEC: Final = {
    "method": one_of(conductors.METHODS),
    "loaded_cores": one_of((2, 3)),
    "area_mm2": one_of(AREAS),
}


def _tables() -> tuple[Figure, ...]:
    cases = [row["case"] for row in lookup.table("drop_limits").rows]
    cables = [row["cable"] for row in lookup.table("cable_outer").rows]
    limit, advice = "cond.vdlimit", "drop limits of codes, tables/drop_limits.csv; some only advice"
    return (
        Figure(limit, "%", advice, "as named", conductors.drop_limit, {"case": one_of(cases)}),
        Figure(
            limit,
            "% added to the limit",
            "BS 7671 appendix 4 / IEC 60364-5-52 annex G: 0.005 %/m beyond 100 m, at most 0.5 %",
            "BS 7671:2018",
            conductors.more_drop,
            {"length_m": number(0, 100_000)},
        ),
        Figure(
            "cond.od",
            "mm",
            "EN 50525-2-21 limits or trade sheets; measure the cable in hand",
            lookup.table("cable_outer").edition,
            _outer,
            {"cable": one_of(cables)},
        ),
    )


FIGURES: Final = (
    Figure(
        "cond.vdrop",
        "V, %",
        f"{_DROP}; IEC 60364-5-52 annex G form",
        "IEC 60364-5-52:2009",
        drop,
        {
            **_RUN,
            "length_m_one_way": number(0, 10_000),
            "current_a": _AMPS,
            "ohm_km": _OHM,
            "nominal_v": number(1, 2000),
        },
        notes=("conductor",),
    ),
    Figure(
        "cond.vdrop",
        "V, %",
        f"{_DROP}; in feet, {_CH9} table 8",
        _NEC_ED,
        drop_in_feet,
        {
            **_RUN,
            "length_ft_one_way": number(0, 30_000),
            "current_a": _AMPS,
            "ohm_kft": _OHM,
            "nominal_v": number(1, 2000),
        },
        notes=("conductor",),
    ),
    Figure(
        "cond.r20",
        "ohm/km",
        "IEC 60228:2004 tables 2 and 3",
        "IEC 60228:2004",
        _resistance,
        {
            "area_mm2": one_of(AREAS),
            "class": one_of((2, 5)),
            "finish": one_of(("plain", "tinned")),
            "temp_c": one_of((20,)),
        },
    ),
    Figure(
        "cond.rt",
        "ohm/km",
        "R = R20 [1 + alpha (t - 20)], 0.00393/K: IEC 60287-1-1 table 1",
        "IEC 60287-1-1:2006",
        conductors.warmed,
        {"r20_ohm_km": _OHM, "temp_c": _CELSIUS, "alpha": number(0, 0.01)},
    ),
    Figure(
        "cond.rt",
        "ohm/kft",
        f"{_CH9} table 8 note 2: R2 = R1 [1 + 0.00323 (T2 - 75)]",
        _NEC_ED,
        lambda ohm, temp, alpha: conductors.warmed(ohm, temp, alpha, 75),
        {"r75_ohm_kft": _OHM, "temp_c": _CELSIUS, "alpha75": number(0, 0.01)},
    ),
    Figure(
        "cond.kt",
        "factor R20=R_t*kt",
        "IEC 60228 annex B: 1 / (1 + 0.004 (t - 20))",
        "IEC 60228:2004",
        conductors.to_20,
        {"temp_c": number(0, 250)},
    ),
    Figure(
        "cond.nec8",
        "ohm/kft",
        f"{_CH9} table 8, uncoated copper",
        _NEC_ED,
        lambda awg, temp: conductors.nec_resistance(awg),
        {**_AWG, "temp_c": one_of((75,))},
    ),
    Figure(
        "cond.nec8",
        "ohm/km",
        f"{_CH9} table 8; 1,000 ft = 304.8 m",
        _NEC_ED,
        lambda awg, ohm_kft: conductors.per_km(ohm_kft),
        {**_AWG, "from_ohm_per_kft": _OHM},
    ),
    Figure(
        "cond.nec310",
        "A",
        f"{_NEC} table 310.16, copper, 30 C, at most three current-carrying conductors",
        "NEC 2023, or as asked",
        lambda awg, column, edition: conductors.nec_ampacity(awg, column, edition or _NEC_ED),
        {**_AWG, **_COLUMN},
        {"edition": one_of(conductors.NEC)},
    ),
    Figure(
        "cond.nec240_4D",
        "A max overcurrent device",
        f"{_NEC} 240.4(D)",
        _NEC_ED,
        lambda awg, rule: conductors.nec_small(awg),
        {"awg": one_of(("14", "12", "10")), "rule": one_of(("small conductor",))},
    ),
    Figure(
        "cond.nectemp",
        "factor",
        f"{_NEC} table 310.15(B)(1)(1), 30 C base",
        _NEC_ED,
        lambda band, column: _factor(conductors.ambient_steps(_NEC_ED, column), AMBIENTS[band]),
        {"ambient_c": one_of(AMBIENTS), **_COLUMN},
    ),
    Figure(
        "cond.necbundle",
        "factor",
        f"{_NEC} table 310.15(C)(1)",
        _NEC_ED,
        lambda band: _factor(conductors.grouped_steps(_NEC_ED), BUNDLES[band]),
        {"current_carrying": one_of(BUNDLES)},
    ),
    Figure(
        "cond.necadj",
        "A",
        f"{_NEC} 310.16 x 310.15(B) x 310.15(C)",
        _NEC_ED,
        _carries,
        {**_AWG, **_COLUMN, "ambient_c": number(-20, 50)},
        {"current_carrying": whole(1, 20)},
    ),
    Figure(
        "cond.cont125",
        "A minimum conductor/OCPD",
        f"{_NEC} 210.19(A)(1), 210.20(A), 215.3: 1.25 x continuous + other load",
        _NEC_ED,
        lambda amps, other: conductors.continuous(amps, other or 0),
        {"continuous_a": _AMPS},
        {"noncontinuous_a": _AMPS},
    ),
    Figure(
        "cond.iec",
        "A",
        "IEC 60364-5-52 tables B.52.2 to B.52.5, copper, 30 C air",
        conductors.IEC,
        lambda method, loaded, area, kind: conductors.ampacity(area, method, loaded, kind),
        {**_IEC, "insulation": one_of(conductors.HOTTEST)},
    ),
    Figure(
        "cond.iectemp",
        "factor",
        "IEC 60364-5-52 table B.52.14",
        conductors.IEC,
        lambda ambient, kind: _factor(
            conductors.ambient_steps(conductors.IEC, kind.split()[0]), ambient
        ),
        {"ambient_c": one_of((30, 35, 40, 45, 50)), "insulation": one_of(("PVC 70", "XLPE 90"))},
    ),
    Figure(
        "cond.iecadj",
        "A",
        "IEC 60364-5-52 tables B.52.4 and B.52.14, PVC",
        conductors.IEC,
        lambda method, loaded, area, ambient: conductors.iec_carries(
            area, method, loaded, "PVC", round(ambient)
        ),
        {**_IEC, "ambient_c": number(-20, 50)},
    ),
    Figure(
        "cond.od",
        "inch diameter",
        f"{_CH9} table 5",
        _NEC_ED,
        lambda awg, kind: conductors.insulated(awg, kind)[0],
        _THWN,
    ),
    Figure(
        "cond.od",
        "mm",
        f"{_CH9} table 5 x 25.4",
        _NEC_ED,
        lambda awg, kind, to: conductors.insulated(awg, kind)[0] * MM_PER_INCH,
        {**_THWN, "to": one_of(("mm",))},
    ),
    Figure(
        "cond.area",
        "in2",
        f"{_CH9} table 5",
        _NEC_ED,
        lambda awg, kind: conductors.insulated(awg, kind)[1],
        _THWN,
    ),
    *_tables(),
)
