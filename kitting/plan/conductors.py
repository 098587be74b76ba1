"""Copper conductors: resistance, voltage drop, what they carry, how thick they are.

Source: each function names its own; the figures lie in `tables/`. The local code and a licensed
electrician have the last word on conductor size; the maker's sheet goes before every table.
"""

import math
from functools import cache
from typing import Final, TypeVar

from kitting.plan import lookup

Key = TypeVar("Key")
Value = TypeVar("Value")
ALPHA_60228: Final = 0.004
"""Per K from 20 C: the factors kt of IEC 60228 annex B, to bring a measured resistance to 20 C."""
ALPHA_20: Final = 0.00393
"""Per K from 20 C: IEC 60287-1-1 table 1, for a warm conductor."""
ALPHA_75: Final = 0.00323
"""Per K from 75 C: NEC chapter 9 table 8 note 2."""
KM_PER_KFT: Final = 0.3048
LOADED: Final = {"dc": 2, "single phase": 2, "three phase": 3}
"""System -> loaded cores."""
PATH: Final = {"dc": 2.0, "single phase": 2.0, "three phase": math.sqrt(3)}
"""System -> how often the one-way length counts."""
IEC: Final = "IEC 60364-5-52:2009"
HOTTEST: Final = {"PVC": 70, "XLPE": 90}
"""Insulation -> C its conductor may reach (IEC 60364-5-52 table 52.1)."""
METHODS: Final = ("B2", "C")
"""B2: multi-core cable in conduit on a wall; C: clipped to a wall."""
NEC: Final = {
    **dict.fromkeys(("NEC 2005", "NEC 2008"), "to 2008"),
    **dict.fromkeys(("NEC 2011", "NEC 2014", "NEC 2017", "NEC 2020", "NEC 2023"), "from 2011"),
}
"""Edition -> which of the two sets of table 310.16 holds."""
COLUMNS: Final = (60, 75, 90)
"""C: the temperature columns of NEC table 310.16."""
Steps = tuple[tuple[int, float], ...]
"""(up to this value, factor), rising: the first row that reaches a value holds."""


class NoFigure(LookupError):
    """No published figure here; the message says for what. Never replaced by a guess."""


def resistance(area: float, stranding: int, finish: str = "plain") -> float:
    """ohm/km at 20 C: IEC 60228. area mm2; stranding class 2 or 5; finish plain or tinned (class 5
    only). Raises NoFigure.

    >>> resistance(6, 5), resistance(6, 5, "tinned")
    (3.3, 3.39)
    """
    key = (str(stranding), finish, float(area))
    return _found(_iec_r20(), key, f"{area:g} mm2, class {stranding}, {finish}")


def nec_resistance(awg: str) -> float:
    """ohm per 1,000 feet at 75 C: NEC chapter 9 table 8, stranded, uncoated. Raises NoFigure.

    >>> nec_resistance("10")
    1.21
    """
    return _found(_by_awg("nec_resistance", "ohm_kft"), awg, f"{awg} AWG")


def per_km(ohm_kft: float) -> float:
    """ohm/km from ohm per 1,000 feet.

    >>> round(per_km(1.21), 2)
    3.97
    """
    return ohm_kft / KM_PER_KFT


def warmed(ohm: float, temp: float, alpha: float = ALPHA_20, base: float = 20) -> float:
    """Resistance at `temp` C from that at `base` C, in the same unit.

    >>> round(warmed(3.3, 70), 4), round(warmed(1.21, 30, ALPHA_75, 75), 4)
    (3.9484, 1.0341)
    """
    return ohm * (1 + alpha * (temp - base))


def to_20(temp: float) -> float:
    """Factor kt that brings a resistance measured at `temp` C to 20 C: IEC 60228 annex B.

    >>> round(to_20(70), 3)
    0.833
    """
    return 1 / (1 + ALPHA_60228 * (temp - 20))


def awg_sizes() -> tuple[str, ...]:
    """Every AWG size with published figures, the smallest first."""
    return tuple(_by_awg("nec_resistance", "ohm_kft"))


def awg_area(awg: str) -> float:
    """mm2 of an AWG size, "14" to "4/0": ASTM B258, d = 0.127 mm x 92^((36 - n) / 39).

    >>> round(awg_area("10"), 2), round(awg_area("2/0"), 1)
    (5.26, 67.4)
    """
    number = 1 - int(awg[:-2]) if awg.endswith("/0") else int(awg)
    across: float = 0.127 * 92 ** ((36 - number) / 39)
    return math.pi / 4 * across**2


def drop(system: str, length: float, current: float, ohm_km: float) -> float:
    """V lost over `length` m one way: 2 x L x I x R, three phase sqrt 3 x L x I x R, with power
    factor 1 and without reactance (fair to about 25 mm2). IEC 60364-5-52 annex G form.

    >>> round(drop("dc", 8, 63, 1.21), 3)
    1.22
    """
    return PATH[system] * length * current * ohm_km / 1000


def longest(system: str, current: float, ohm_km: float, allowed: float) -> int:
    """mm one way at which the drop just keeps within `allowed` V.

    >>> longest("single phase", 32, warmed(4.95, 70), 2.3)
    6067
    """
    return math.floor(allowed * 1_000_000 / (PATH[system] * current * ohm_km) + 1e-9)


def drop_limit(case: str) -> float:
    """Percent of the nominal voltage, by code and use as "nec.branch": tables/drop_limits.csv.
    Raises NoFigure.

    >>> drop_limit("bs7671.other")
    5.0
    """
    rows = {row["case"]: float(row["percent"]) for row in lookup.table("drop_limits").rows}
    return _found(rows, case, f"a drop limit {case}")


def more_drop(length: float) -> float:
    """Percent added to the limit beyond 100 m: 0.005 per m, at most 0.5 (BS 7671 appendix 4, IEC
    60364-5-52 annex G). length m.

    >>> more_drop(150), more_drop(260)
    (0.25, 0.5)
    """
    return min(0.5, max(0.0, 0.005 * (length - 100)))


def continuous(amps: float, other: float = 0) -> float:
    """A that conductor and overcurrent device must be for: 1.25 x continuous + other load (NEC
    210.19(A)(1), 210.20(A), 215.3).

    >>> continuous(24), continuous(30, 10)
    (30.0, 47.5)
    """
    return 1.25 * amps + other


def ampacity(area: float, method: str, loaded: int, insulation: str = "PVC") -> float:
    """A at 30 C in air: IEC 60364-5-52 tables B.52.2 to B.52.5. area mm2; method B2 or C; loaded 2
    or 3 cores; insulation PVC or XLPE. Raises NoFigure.

    >>> ampacity(10, "C", 2), ampacity(10, "C", 2, "XLPE")
    (63.0, 80.0)
    """
    what = f"{area:g} mm2, method {method}, {loaded} loaded, {insulation}"
    return _found(_iec_ampacity(), (insulation, method, str(loaded), float(area)), what)


def nec_ampacity(awg: str, column: int, edition: str = "NEC 2023") -> float:
    """A at 30 C, at most three current-carrying conductors: NEC table 310.16. column 60, 75 or 90
    C. Four cells changed in 2011, so the edition decides. Raises NoFigure.

    >>> nec_ampacity("14", 60), nec_ampacity("14", 60, "NEC 2008")
    (15.0, 20.0)
    """
    what = f"{awg} AWG, column {column} C, {edition}"
    return _found(_nec_ampacity(), (awg, column, NEC.get(edition, edition)), what)


def nec_small(awg: str) -> float:
    """A of the largest overcurrent device for 14, 12 and 10 AWG: NEC 240.4(D); no bound above.

    >>> nec_small("12"), nec_small("8")
    (20.0, inf)
    """
    return _by_awg("nec_small", "amps").get(awg, math.inf)


@cache
def ambient_steps(edition: str, insulation: str | int) -> Steps:
    """Factors by ambient C, for an insulation (IEC: PVC, XLPE) or a column (NEC: 60, 75, 90).

    Cooler than the base of 30 C the factor stays 1: stricter than both codes.
    """
    name, key = ("iec_ambient", "insulation") if edition == IEC else ("nec_ambient", "column")
    rows = [row for row in lookup.table(name).rows if row[key] == str(insulation)]
    return tuple((int(row["upto"]), float(row["factor"])) for row in rows)


@cache
def grouped_steps(edition: str) -> Steps:
    """Factors by circuits bunched together (IEC) or current-carrying conductors (NEC)."""
    rows = lookup.table("iec_grouping" if edition == IEC else "nec_grouping").rows
    return tuple((int(row["upto"]), float(row["factor"])) for row in rows)


def factor(steps: Steps, value: int, what: str) -> float:
    """The factor of the first row that reaches a value. Raises NoFigure beyond the last.

    >>> factor(ambient_steps("NEC 2023", 75), 38, "ambient C")
    0.88
    """
    for upto, found in steps:
        if value <= upto:
            return found
    raise NoFigure(f"no published factor for {what} {value}; the table ends at {steps[-1][0]}")


def iec_carries(
    area: float, method: str, loaded: int, insulation: str, ambient: int, grouped: int = 1
) -> float:
    """A in a hot place and beside other circuits: ampacity x ambient factor x grouping factor.
    ambient C, grouped circuits. Raises NoFigure.

    >>> round(iec_carries(10, "C", 3, "PVC", 40), 2)
    49.59
    """
    hot = factor(ambient_steps(IEC, insulation), ambient, "ambient C")
    beside = factor(grouped_steps(IEC), grouped, "circuits together")
    return round(ampacity(area, method, loaded, insulation) * hot * beside, 6)


def nec_carries(
    awg: str, column: int, ambient: int, grouped: int = 3, edition: str = "NEC 2023"
) -> float:
    """A in a hot place and beside other conductors: NEC 310.16 x 310.15(B) x 310.15(C). column of
    the insulation; ambient C; grouped current-carrying conductors. Raises NoFigure.

    >>> nec_carries("12", 75, 40), nec_carries("6", 90, 40, 4)
    (22.0, 54.6)
    """
    hot = factor(ambient_steps(edition, column), ambient, "ambient C")
    beside = factor(grouped_steps(edition), grouped, "current-carrying conductors together")
    return round(nec_ampacity(awg, column, edition) * hot * beside, 6)


def insulated(awg: str, kind: str = "THWN-2") -> tuple[float, float]:
    """(inch across, square inch) over the insulation: NEC chapter 9 table 5. Raises NoFigure.

    >>> insulated("6")
    (0.254, 0.0507)
    """
    return _found(_nec_insulated(), (kind, awg), f"{kind} {awg} AWG")


def outer(cable: str) -> tuple[float, float, float]:
    """(least, usual, most) mm over the sheath of a cable type; nan where not said:
    tables/cable_outer.csv. For planning only: the cable in hand is measured. Raises NoFigure.

    >>> outer("NYY-J 5x6")
    (17.0, 18.5, 20.0)
    """
    rows = {row["cable"]: row for row in lookup.table("cable_outer").rows}
    row = _found(rows, cable, f"the cable {cable}")
    least, usual, most = (float(row[key] or "nan") for key in ("least", "usual", "most"))
    return least, usual, most


def _found(rows: dict[Key, Value], key: Key, what: str) -> Value:
    if key not in rows:
        raise NoFigure(f"no published figure for {what}")
    return rows[key]


@cache
def _by_awg(name: str, value: str) -> dict[str, float]:
    return {row["awg"]: float(row[value]) for row in lookup.table(name).rows}


@cache
def _iec_r20() -> dict[tuple[str, str, float], float]:
    rows = lookup.table("iec_r20").rows
    return {(r["class"], r["finish"], float(r["area"])): float(r["ohm_km"]) for r in rows}


@cache
def _iec_ampacity() -> dict[tuple[str, str, str, float], float]:
    return {
        (row["insulation"], row["method"], row["loaded"], float(row["area"])): float(row["amps"])
        for row in lookup.table("iec_ampacity").rows
    }


@cache
def _nec_ampacity() -> dict[tuple[str, int, str], float]:
    sets = {"all": ("to 2008", "from 2011")}
    return {
        (row["awg"], int(row["column"]), editions): float(row["amps"])
        for row in lookup.table("nec_ampacity").rows
        for editions in sets.get(row["editions"], (row["editions"],))
    }


@cache
def _nec_insulated() -> dict[tuple[str, str], tuple[float, float]]:
    return {
        (row["kind"], row["awg"]): (float(row["outer_in"]), float(row["area_in2"]))
        for row in lookup.table("nec_insulated").rows
    }
