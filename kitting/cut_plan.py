"""The cuts of a day: all pieces of its kits that nobody has packed yet, as one plan.

Sticks that kits of earlier days still cut from are counted as cut. What a kit's own pick list says
is worked out for it alone; this is the whole day at once, and no scan has to keep to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.models import Item
from kitting import lengths, sourcing, still_needed
from kitting.cut_drawing import Bar, bars
from kitting.lengths import OnRack
from kitting.models import Kit
from kitting.plan import day_cuts
from kitting.plan.cutting import KEPT, NEW, REEL
from kitting.plan.day_cuts import DayPlan, Stick
from kitting.progress import fold
from kitting.shelves import on_shelves


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece that a kit still takes."""

    mm: int
    kit: Kit


@dataclass(frozen=True, slots=True)
class Asked:
    """What is cut of one item on a day."""

    item: Item
    pieces: tuple[Piece, ...]

    @property
    def together(self) -> int:
        """mm of all pieces."""
        return sum(piece.mm for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class FromStick:
    """One stick and what is cut from it."""

    stick: OnRack
    pieces: tuple[Piece, ...]
    left: int  # mm
    useful: bool  # whether the rest goes back on the shelf
    bar: Bar


@dataclass(frozen=True, slots=True)
class ItemCuts:
    """The plan of one item."""

    asked: Asked
    sticks: tuple[FromStick, ...]
    missing: tuple[Piece, ...]  # nothing that lies there holds them
    unmeasured: bool  # some lies there without a label: nobody knows how long one piece is
    plan: DayPlan


def asked(day: date) -> list[Asked]:
    """Return what is cut on a day of each length, by the item's code; the longest piece first."""
    found: dict[Item, list[Piece]] = defaultdict(list)
    for kit in still_needed.open_kits().filter(job__date=day):
        lines = fold(kit).lines
        items = {row.line.item_id: row.line.item for row in lines}
        for item, pieces in lengths.left(lines).items():
            found[items[item]] += [Piece(mm, kit) for mm in pieces]
    return [
        Asked(item, tuple(sorted(found[item], key=lambda piece: -piece.mm)))
        for item in sorted(found, key=lambda item: item.code)
    ]


def worked_out(one: Asked, day: date) -> ItemCuts:
    """Return the plan of one item; it may take some seconds."""
    item, pieces = one.item, [piece.mm for piece in one.pieces]
    earlier = still_needed.open_kits().filter(job__date__lt=day, lines__item=item).distinct()
    rack = sourcing.rack_after(list(earlier), on_shelves([item.pk]))
    lying = rack.sticks(item.pk, pieces)
    able = [(room, stick) for room, stick in lying if room]
    plan = day_cuts.plan(pieces, [Stick(room, stick.kind == NEW) for room, stick in able])
    sticks = [able[at][1] for at in plan.sticks]
    loads = [[one.pieces[piece] for piece in load] for load in plan.sticks.values()]
    return ItemCuts(
        one,
        tuple(_drawn(sticks, loads)),
        tuple(one.pieces[piece] for piece in plan.missing),
        any(not stick.sure for _, stick in lying),
        plan,
    )


def _drawn(sticks: Sequence[OnRack], loads: Sequence[Sequence[Piece]]) -> list[FromStick]:
    """What is kept first, then reels, each with its bar; all bars to one scale."""
    cut = [[piece.mm for piece in load] for load in loads]
    drawn = bars([(stick.room, pieces) for stick, pieces in zip(sticks, cut, strict=True)])
    found = [
        FromStick(stick, tuple(load), left, left >= day_cuts.weights().useful, bar)
        for stick, load, pieces, bar in zip(sticks, loads, cut, drawn, strict=True)
        for left in [stick.room - sum(pieces)]
    ]
    order = (KEPT, REEL, NEW)
    return sorted(found, key=lambda one: (order.index(one.stick.kind), -one.stick.room))
