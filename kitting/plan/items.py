"""An item of a family's list: what it is, what it brings, and what it asks for in turn."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kitting.plan.needs import NEEDS
from kitting.plan.reading import Table, is_whole, shown

TRACKING: Final = ("serial", "lot", "count", "length", "tool", "supply")
UNITS: Final = ("piece", "mm", "ul", "mm2")
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


def parse(table: Table) -> FamilyItem:
    """One [[item]]; faults go to the table."""
    tracking = table.text("tracking", among=TRACKING)
    usual = "mm" if tracking == "length" else "piece"
    item = FamilyItem(
        code=table.text("code"),
        name=table.text("name"),
        tracking=tracking,
        unit=table.text("unit", usual, UNITS),
        mass_g=table.whole("mass_g"),
        pack=table.whole("pack", 1, default=1),
        gtin=_gtin(table),
        carton=_carton(table),
        raises=tuple(_raise(row) for row in table.rows("raises")),
        fits=_fits(table),
        thread=table.text("thread", ""),
        holes=table.pairs("holes"),
        anchor=_anchor(table),
        conductor=_conductor(table),
        hand=table.text("hand", "", ("left", "right")),
        colour=table.text("colour", ""),
        draw=table.text("draw", "", DRAWN),
        expires=table.flag("expires", default=False),
        renew=table.text("renew", "", RENEWALS),
        reuse=table.flag("reuse", default=False),
    )
    _check(table, item)
    table.finish()
    return item


def _check(table: Table, item: FamilyItem) -> None:
    if item.tracking == "length" and item.unit != "mm":
        table.fault("unit", f"expected mm for tracking length, got {item.unit}")
    if item.tracking == "serial" and item.unit != "piece":
        table.fault("unit", f"expected piece for tracking serial, got {item.unit}")
    if item.raises and item.unit in ("ul", "mm2"):
        table.fault("raises", f"expected pieces or cut lengths to raise needs, got {item.unit}")


def _gtin(table: Table) -> str:
    text = table.text("gtin", "")
    if text and not (text.isascii() and text.isdigit() and len(text) == 14):
        table.fault("gtin", f"expected 14 digits, got {text!r}")
    return text


def _carton(table: Table) -> dict[str, int]:
    held: dict[str, int] = {}
    for row in table.rows("carton"):
        held[row.text("item")] = row.whole("quantity", 1)
        row.finish()
    return held


def _raise(table: Table) -> Raise:
    raised = Raise(
        table.text("need", among=NEEDS), table.text("of", ""), table.whole("count", 1, 1000, 1)
    )
    table.finish()
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
    area = inner.take("area", "mm2 of one core")
    if not (is_whole(area) or isinstance(area, float)) or not 0.5 <= float(str(area)) <= 300:
        inner.fault("area", f"expected mm2 from 0.5 to 300, got {shown(area)}")
        area = 1
    stranding = inner.whole("class", 2, 5)
    inner.finish()
    return Conductor(float(str(area)), stranding)
