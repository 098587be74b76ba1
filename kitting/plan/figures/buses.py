"""Data buses: ends, lengths, what a meter shows; ends as the kit counts them.

Source: ISO 11898-2, CiA 301/303-1, TIA-485-A, ANSI/TIA-568. Plug or unplug only with the
direct-current side isolated.
"""

from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.counting.bus_ends import ENDS, plugs
from kitting.plan.figure import Figure
from kitting.plan.inputs import number, one_of, whole

OHM: Final = 120
"""One terminator."""
UNIT_LOADS: Final = 32
UNIT_LOAD_OHM: Final = 12_000
LOAD_OHM: Final = 54
"""What a TIA-485 driver must drive."""
LONGEST_485: Final = 1200
"""m, practice at 100 kbit/s and below."""
RATE_485: Final = 1e8
"""m x bit/s, rule of practice."""
ETHERNET: Final = {"permanent_link": 90, "cords": 10}
"""m"""


def trunk(kbit: float) -> list[int]:
    """m, least and greatest that published tables print.

    >>> trunk(1000)
    [20, 40]
    """
    row = _can()[kbit]
    return [int(row["trunk_low"]), int(row["trunk_high"])]


def drops(kbit: float) -> dict[str, int]:
    """m of one drop line and of all together."""
    row = _can()[kbit]
    return {"one_m": int(row["drop_one"]), "all_m": int(row["drop_all"])}


def measured(terminators: int) -> float:
    """Ohm between both wires with nothing switched on.

    >>> measured(2)
    60.0
    """
    return OHM / terminators


def nodes(unit_load: float) -> int:
    """Devices on one TIA-485 line.

    >>> nodes(0.125)
    256
    """
    return int(UNIT_LOADS / unit_load + 1e-9)


def length_485(kbit: float) -> float:
    """m by rate: metres x bit/s <= 1e8, never above 1200.

    >>> length_485(1000), length_485(9.6)
    (100.0, 1200)
    """
    return min(LONGEST_485, RATE_485 / (kbit * 1000))


def chain(devices: int, topology: str, built_in: int | None) -> dict[str, int]:
    """Links and terminators to bring for devices in a row.

    >>> chain(4, "daisy chain", None)
    {'links': 3, 'terminators': 2}
    """
    return {"links": devices - 1, "terminators": plugs(built_in or 0)}


def ethernet(part: str) -> int:
    """m of the whole channel, or of a part of it."""
    return sum(ETHERNET.values()) if part == "channel" else ETHERNET[part]


@cache
def _can() -> dict[float, dict[str, str]]:
    return {float(row["kbit_s"]): row for row in lookup.table("can_bus").rows}


def _ends(bus: str) -> dict[str, int]:
    return {"ohm": OHM, "count": ENDS}


_RATES: Final = (1000, 800, 500, 250, 125, 50, 20, 10)
_CAN: Final = {"bus": one_of(("CAN high speed",))}
_485: Final = {"bus": one_of(("TIA-485",))}

FIGURES: Final = (
    Figure(
        "bus.can.len",
        "m max trunk (low,high of published tables)",
        "CiA 301/303-1 line lengths; the lower one with optocouplers",
        "CiA 303-1",
        trunk,
        {"kbit_s": one_of(_RATES)},
    ),
    Figure(
        "bus.can.drop",
        "m",
        "drop lines as one fieldbus manual recommends; others print some 10 % to 50 % more",
        "no edition: trade practice",
        drops,
        {"kbit_s": one_of([rate for rate in _RATES if rate not in (800, 20, 10)])},
    ),
    Figure(
        "bus.can.term", "ohm, pieces", "ISO 11898-2, termination", "ISO 11898-2:2016", _ends, _CAN
    ),
    Figure(
        "bus.can.measure",
        "ohm CAN_H to CAN_L, unpowered",
        "terminators of 120 ohm in parallel",
        "ISO 11898-2:2016",
        measured,
        {"terminators": whole(1, 20)},
    ),
    Figure("bus.485.ul", "unit loads", "TIA-485-A", "TIA-485-A", lambda bus: UNIT_LOADS, _485),
    Figure(
        "bus.485.ulohm",
        "ohm per unit load",
        "TIA-485-A",
        "TIA-485-A",
        lambda bus: UNIT_LOAD_OHM,
        _485,
    ),
    Figure(
        "bus.485.minload",
        "ohm differential drive load",
        "TIA-485-A: two terminators and 32 unit loads",
        "TIA-485-A",
        lambda bus: LOAD_OHM,
        _485,
    ),
    Figure(
        "bus.485.nodes",
        "nodes max",
        "TIA-485-A: 32 unit loads",
        "TIA-485-A",
        nodes,
        {"unit_load_each": number(0.01, 32)},
    ),
    Figure(
        "bus.485.len",
        "m at <=100 kbit/s",
        "practice; the standard fixes no length",
        "no edition: trade practice",
        lambda bus: LONGEST_485,
        _485,
    ),
    Figure(
        "bus.485.rate",
        "m",
        "rule of practice: m x bit/s <= 1e8, at most 1200 m",
        "no edition: trade practice",
        length_485,
        {"kbit_s": number(0, 100_000, above=True)},
    ),
    Figure(
        "bus.485.term",
        "ohm, pieces",
        "TIA-485-A, cable of 100 to 120 ohm",
        "TIA-485-A",
        _ends,
        _485,
    ),
    Figure(
        "bus.eth",
        "m",
        "ANSI/TIA-568: 90 m permanent link and 10 m of cords",
        "ANSI/TIA-568",
        ethernet,
        {"part": one_of(("channel", "permanent_link", "cords"))},
    ),
    Figure(
        "bus.chain",
        "pieces",
        "linear bus: n - 1 links, two terminators less those built in (ISO 11898-2)",
        "ISO 11898-2:2016",
        chain,
        {"devices": whole(1, 256), "topology": one_of(("daisy chain",))},
        {"built_in": whole(0, 2)},
    ),
)
