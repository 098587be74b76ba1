"""An item of a family's list: what it is, what it brings, and what it asks for in turn."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from kitting.plan import conductors, conduit
from kitting.plan.conductors import NoFigure
from kitting.plan.needs import NEEDS
from kitting.plan.reading import Table, is_whole, shown

TRACKING: Final = ("serial", "lot", "count", "length", "tool", "supply")
UNITS: Final = ("piece", "mm", "ul", "mm2")
DANGEROUS: Final = ("3480", "3481", "none")
DRAWN: Final = ("unit", "head", "base", "cap", "lead", "bracket")
RENEWALS: Final = ("whole", "opened joint")


@dataclass(frozen=True, slots=True)
class Raise:
    """A need that an item brings with it."""

    need: str
    of: str
    count: int
    """Per piece of the item; per cut piece for an item in mm."""


@dataclass(frozen=True, slots=True)
class Conductor:
    """The copper inside a cable."""

    area: float
    """mm2 of one core."""
    stranding: int
    """Class of IEC 60228: 2 stranded, 5 flexible."""
    awg: str = ""
    """As "10" or "2/0", where it is an AWG size."""
    finish: str = "plain"
    """plain, or tinned (class 5 only)."""
    insulation: str = ""
    """A type of NEC chapter 9 table 5, where the wire fills conduit by that table."""

    @property
    def core(self) -> int:
        """Hundredths of mm2: what ferrules and lugs are chosen by."""
        return round(self.area * 100)

    @property
    def size(self) -> str:
        """As people say it.

        >>> Conductor(2.5, 5).size, Conductor(5.26, 2, "10").size
        ('2.5 mm2', '10 AWG')
        """
        return f"{self.awg} AWG" if self.awg else f"{self.area:g} mm2"


@dataclass(frozen=True, slots=True)
class Anchor:
    """What an anchor asks of the wall or floor."""

    length: int
    """mm, the whole anchor."""
    hole: int
    """mm, diameter of the hole; 0 = none is drilled."""
    embed: int
    """mm in the bearing layer, at least."""
    deeper: int
    """mm that the hole goes beyond the anchor's end."""
    behind: int
    """mm of the bearing layer that must remain behind the hole."""
    flush: bool
    """Its whole length goes in behind the fixture; else what is too long stands out in front."""
    holds: tuple[str, ...]
    """Materials."""


@dataclass(frozen=True, slots=True)
class FamilyItem:
    """One kind of thing a kit can name."""

    code: str
    name: str
    tracking: str
    """serial, lot, count, length, tool or supply."""
    unit: str
    """Base unit of every quantity of it: piece, mm, ul or mm2."""
    mass_g: int
    """Grams per piece; per metre, litre or m2 for the other units."""
    pack: int
    """Base units in the package it is sold in."""
    gtin: str
    """14 digits, or empty."""
    carton: Mapping[str, int]
    """What comes in its box beside it: item code -> base units. Netted in sourcing, never in lines.
    """
    raises: tuple[Raise, ...]
    fits: Mapping[str, tuple[int, int]]
    """Measure -> least and most it fits, both inside."""
    thread: str
    """As "M20"; empty where it has none."""
    holes: tuple[tuple[int, int], ...]
    """Of an insert: least and most tenths of mm that each hole holds."""
    anchor: Anchor | None
    conductor: Conductor | None
    outer: int
    """Tenths of mm over the sheath of a cable; 0 where not said."""
    bore: float
    """Square inch of a conduit's whole inner section; 0 where it is none."""
    trade: str
    """Trade size of a conduit, as "3/4"; empty where it has none."""
    hand: str
    """left, right or empty."""
    colour: str
    draw: str
    """How the drawing shows it; empty where it does not."""
    expires: bool
    renew: str
    """At an expansion: empty, "whole" or "opened joint"."""
    reuse: bool
    """Freed and needed in one expansion: it moves."""
    lies: Mapping[str, str] = field(default_factory=dict)
    """Where it lies in the box, in words: item code -> "small bag under the lid"."""
    ready: tuple[str, int] | None = None
    """A lead with its ends on: the item it may stand in for, cut to length, and its own mm."""
    un: str = ""
    """UN number it travels under; "none" for no dangerous goods; empty where it is not said."""

    @property
    def battery(self) -> bool:
        """A lithium battery on the road: as said, else a module with a serial."""
        if self.un:
            return self.un != "none"
        return self.tracking == "serial" and self.draw == "unit"


def parse(table: Table) -> FamilyItem:
    """One [[item]]; faults go to the table."""
    tracking = table.text("tracking", among=TRACKING)
    usual = "mm" if tracking == "length" else "piece"
    unit = table.text("unit", usual, UNITS)
    if tracking in ("length", "serial") and unit not in ("", usual):
        table.fault("unit", f"expected {usual} for tracking {tracking}, got {unit}")
        unit = usual
    bore, trade = _conduit(table)
    carton, lies = _carton(table)
    item = FamilyItem(
        code=table.text("code"),
        name=table.text("name"),
        tracking=tracking,
        unit=unit,
        mass_g=table.whole("mass_g"),
        pack=table.whole("pack", 1, default=1),
        gtin=_gtin(table),
        carton=carton,
        lies=lies,
        raises=tuple(_raise(row) for row in table.rows("raises")),
        fits=_fits(table),
        thread=table.text("thread", ""),
        holes=table.pairs("holes"),
        anchor=_anchor(table),
        conductor=_conductor(table),
        outer=table.whole("outer", 1, 2000, 0),
        bore=bore,
        trade=trade,
        hand=table.text("hand", "", ("left", "right")),
        colour=table.text("colour", ""),
        draw=table.text("draw", "", DRAWN),
        expires=table.flag("expires", default=False),
        renew=table.text("renew", "", RENEWALS),
        reuse=table.flag("reuse", default=False),
        ready=_ready(table),
        un=table.text("un", "", DANGEROUS),
    )
    _check(table, item)
    table.finish()
    return item


def _check(table: Table, item: FamilyItem) -> None:
    if item.raises and item.unit in ("ul", "mm2"):
        table.fault("raises", f"expected pieces or cut lengths to raise needs, got {item.unit}")


def _ready(table: Table) -> tuple[str, int] | None:
    """ready = { of = "CABLE", length = 3000 }"""
    inner = table.inner("ready")
    if inner is None:
        return None
    found = inner.text("of"), inner.whole("length", 1, 100_000)
    inner.finish()
    return found


def _gtin(table: Table) -> str:
    text = table.text("gtin", "")
    if text and not (text.isascii() and text.isdigit() and len(text) == 14):
        table.fault("gtin", f"expected 14 digits, got {text!r}")
    return text


def _carton(table: Table) -> tuple[dict[str, int], dict[str, str]]:
    """What comes in the box, and where it lies in it."""
    held: dict[str, int] = {}
    lies: dict[str, str] = {}
    for row in table.rows("carton"):
        code = row.text("item")
        held[code] = row.whole("quantity", 1)
        words = row.text("lies", "")
        if words:
            lies[code] = words
        row.finish()
    return held, lies


def _raise(table: Table) -> Raise:
    raised = Raise(
        table.text("need", among=NEEDS), table.text("of", ""), table.whole("count", 1, 1000, 1)
    )
    table.finish()
    return raised


def couples(table: Table) -> tuple[Raise, ...]:
    """What each piece after the first raises, by a rule's `couples = { need, of, count }`."""
    inner = table.inner("couples")
    return () if inner is None else (_raised_by_rule(inner),)


def ends(table: Table) -> tuple[Raise, ...]:
    """What each run raises, however many pieces, by a rule's `ends = [{ need, of, count }]`."""
    return tuple(_raised_by_rule(row) for row in table.rows("ends"))


def _raised_by_rule(inner: Table) -> Raise:
    raised = Raise(
        inner.text("need", among=NEEDS), inner.text("of", ""), inner.whole("count", 1, 9, 1)
    )
    inner.finish()
    return raised


def _fits(table: Table) -> dict[str, tuple[int, int]]:
    inner = table.inner("fits")
    return {} if inner is None else {name: inner.pair(name) for name in inner.data}


def _anchor(table: Table) -> Anchor | None:
    inner = table.inner("anchor")
    if inner is None:
        return None
    found = Anchor(
        length=inner.whole("length", 1, 2000),
        hole=inner.whole("hole", 0, 200),
        embed=inner.whole("embed", 1, 2000),
        deeper=inner.whole("deeper", 0, 500, 0),
        behind=inner.whole("behind", 0, 2000),
        flush=inner.flag("flush", default=False),
        holds=inner.texts("holds"),
    )
    if found.embed > found.length:
        inner.fault("embed", f"expected at most the length {found.length}, got {found.embed}")
    inner.finish()
    return found


def _conductor(table: Table) -> Conductor | None:
    inner = table.inner("conductor")
    if inner is None:
        return None
    awg = inner.text("awg", "", conductors.awg_sizes())
    area = 1.0
    if awg:
        area = conductors.awg_area(awg)
    elif not inner.has("awg"):
        area = _area(inner)
    stranding = inner.whole("class", 2, 5)
    finish = inner.text("finish", "plain", ("plain", "tinned"))
    insulation = inner.text("insulation", "", ("THWN-2",)) if awg else ""
    inner.finish()
    return Conductor(area, stranding, awg, finish, insulation)


def _area(inner: Table) -> float:
    area = inner.take("area", "mm2 of one core")
    if not (is_whole(area) or isinstance(area, float)) or not 0.5 <= float(str(area)) <= 300:
        inner.fault("area", f"expected mm2 from 0.5 to 300, got {shown(area)}")
        return 1
    return float(str(area))


def _conduit(table: Table) -> tuple[float, str]:
    """{ kind = "EMT", trade = "3/4" } or { inner = 160 }, tenths of mm: (section, trade size)."""
    inner = table.inner("conduit")
    if inner is None:
        return 0, ""
    trade = ""
    if inner.has("inner"):
        found = conduit.circle(inner.whole("inner", 50, 2000) / 10)
    else:
        kind, trade = inner.text("kind"), inner.text("trade")
        try:
            found = conduit.area(kind, trade)
        except NoFigure:
            inner.fault("trade", f"expected a conduit with a published section, got {kind} {trade}")
            found = math.nan
    inner.finish()
    return found, trade
