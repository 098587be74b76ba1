"""The smallest conductor that carries the current and keeps the drop over the run; one piece per
run.

Source: IEC 60364-5-52 tables B.52.2, B.52.4 (ampacity) and B.52.14 (ambient); IEC 60228 (resistance
at 20 C); temperature of the drop 70 C with 0.00393 per K (IEC 60287); drop 2 x L x I x R, three
phase sqrt 3 x L x I x R (power factor 1, reactance left out). Continuous load x 1.25: NEC
210.19(A)(1). The local code and a licensed electrician have the last word on conductor size.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.counting.length import CARRIED, one_piece
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.items import Conductor
from kitting.plan.reading import Table

LOADED: Final = {"dc": 2, "single phase": 2, "three phase": 3}
PATH: Final = {"dc": 2.0, "single phase": 2.0, "three phase": math.sqrt(3)}
HOT: Final = 1 + 0.00393 * 50
"""Copper at 70 C against 20 C."""


@dataclass(frozen=True, slots=True)
class Size:
    """One cable that may be chosen."""

    item: str
    area: float
    """mm2"""
    carries: float
    """A, after the ambient factor; 0 where the table has no figure."""
    longest: int
    """mm of cut length that keep the drop."""


@dataclass(frozen=True, slots=True)
class Cable:
    """The load, the limit, and the sizes from small to large."""

    sizes: tuple[Size, ...]
    design: float
    """A the conductor must carry."""
    load: str
    """The current in words."""
    allowed: float
    """V of drop allowed."""
    allowance: int
    """mm added to each run for its ends."""

    def items(self) -> tuple[str, ...]:
        """Every size."""
        return tuple(size.item for size in self.sizes)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """One piece of the smallest size that carries and keeps the drop."""
        cut = task.scope.number("length") + self.allowance
        for size in self.sizes:
            if size.carries >= self.design and cut <= size.longest:
                piece = one_piece(size.item, task, self.allowance)
                words = (
                    f"{self.load}; {size.area:g} mm2 carries {size.carries:g} A and keeps the drop"
                    f" of {self.allowed:g} V up to {size.longest} mm; {piece.words}"
                )
                return [piece._replace(words=words)]
        asked = f"{self.design:g} A over {cut} mm with {self.allowed:g} V of drop"
        raise CannotCount(f"no listed conductor carries {asked}")

    def thresholds(self, book: Book) -> list[Threshold]:
        """The longest run of every size."""
        return [Threshold(CARRIED, size.longest - self.allowance) for size in self.sizes]


def resistance(conductor: Conductor) -> float:
    """ohm/km at 20 C. KeyError where the table has none.

    >>> resistance(Conductor(6, 5))
    3.3
    """
    return _figures("iec_r20", "class", "area", "ohm_km")[
        (str(conductor.stranding), conductor.area)
    ]


def ampacity(method: str, loaded: int, area: float, ambient: int) -> float:
    """A a copper conductor with PVC carries; 0 where the table has no figure.

    >>> ampacity("C", 2, 10, 30), ampacity("C", 2, 1000, 30)
    (63.0, 0.0)
    """
    plain = {
        (row["method"], row["loaded"], float(row["area"])): float(row["amps"])
        for row in lookup.table("iec_ampacity").rows
    }
    factor = {int(row["ambient"]): float(row["factor"]) for row in lookup.table("iec_ambient").rows}
    return plain.get((method, str(loaded), area), 0.0) * factor[ambient]


def drop(system: str, length_mm: int, current: float, ohm_km: float) -> float:
    """V lost over a run there and back.

    >>> round(drop("dc", 8000, 63, 1.21), 3)
    1.22
    """
    return PATH[system] * length_mm * current * ohm_km / 1_000_000


def longest(system: str, current: float, ohm_km: float, allowed: float) -> int:
    """mm of cut length at which the drop just keeps within `allowed` V.

    >>> longest("single phase", 32, 4.95 * HOT, 2.3)
    6067
    """
    return math.floor(allowed * 1_000_000 / (PATH[system] * current * ohm_km) + 1e-9)


@cache
def _figures(name: str, key: str, area: str, value: str) -> dict[tuple[str, float], float]:
    return {(row[key], float(row[area])): float(row[value]) for row in lookup.table(name).rows}


def parse(table: Table, book: Book) -> Cable:
    """sizes, system, current, voltage, drop_permille, method, ambient, continuous, allowance."""
    system = table.text("system", among=LOADED)
    current = table.whole("current", 1, 1000)
    voltage, permille = table.whole("voltage", 1, 1500), table.whole("drop_permille", 1, 200)
    method = table.text("method", among=("B2", "C"))
    ambient = table.whole("ambient", 30, 50, 30)
    if ambient % 5:
        table.fault("ambient", f"expected 30, 35, 40, 45 or 50, got {ambient}")
        ambient = 30
    continuous = table.flag("continuous")
    allowed = voltage * permille / 1000
    sizes = []
    for code in table.texts("sizes"):
        conductor = book.items[code].conductor if code in book.items else None
        if conductor is None or not _listed(conductor):
            table.fault("sizes", f"expected cables with a listed conductor, got {code!r}")
            continue
        if system in LOADED:
            reach = longest(system, current, resistance(conductor) * HOT, allowed)
            carries = ampacity(method, LOADED[system], conductor.area, ambient)
            sizes.append(Size(code, conductor.area, carries, reach))
    sizes.sort(key=lambda size: size.area)
    load = f"{current} A x 1.25 = {current * 1.25:g} A" if continuous else f"{current} A"
    design = current * (1.25 if continuous else 1)
    return Cable(tuple(sizes), design, load, allowed, table.whole("allowance", default=0))


def _listed(conductor: Conductor) -> bool:
    return (str(conductor.stranding), conductor.area) in _figures(
        "iec_r20", "class", "area", "ohm_km"
    )
