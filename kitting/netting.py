"""What comes in the boxes of other things is not picked, unless a box of that batch was found to
hold something else: then it is picked besides, until one box is found as told again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import Q, Sum

from inventory import boxes
from inventory.models import BoxDoubt, CartonContent, Holding, Item, Lot
from inventory.rows import Among, Question, Slot
from kitting.models import AsBuilt, Kit, KitLine
from kitting.shelves import AWAY, in_its_places

_OF_ITEMS = Question(
    lambda: boxes.dated(
        Slot(CartonContent, "since"),
        Q(
            item__in=Among(CartonContent, "item"),
            box_of__in=KitLine.objects.filter(kit=Slot(KitLine, "kit")).values("item"),
        ),
    )
)


class InBox(NamedTuple):
    """One item that lies in the boxes of another."""

    box_of: Item
    each: int  # base units in one box; of a length one piece
    boxes: int  # that are relied on

    @property
    def quantity(self) -> int:
        """Base units in all of them."""
        return self.each * self.boxes


@dataclass(frozen=True, slots=True)
class Brought:
    """One thing that comes in the boxes of another."""

    content: CartonContent
    needed: int  # boxes that the kit takes
    counted: int  # boxes of them that are relied on
    doubts: tuple[BoxDoubt, ...]


def told_of_each(kits: Sequence[Kit], items: Sequence[Iterable[int]]) -> list[list[CartonContent]]:
    """Return what is told of the boxes of each kit about its items, by one statement."""
    many = [
        {"item": some, "kit": kit.pk, "since": kit.job.date}
        for kit, some in zip(kits, items, strict=True)
    ]
    return _OF_ITEMS.ask_each(many)


def in_boxes(
    kit: Kit,
    items: Iterable[int],
    lines: Iterable[KitLine] | None = None,
    rows: Sequence[CartonContent] | None = None,
) -> dict[int, list[InBox]]:
    """Return item id -> what of it the boxes of the kit hold.

    Only contents dated on or before the day of the job and not in doubt count; of several dates
    the latest. lines: all of the kit's, rows: what is told, where the caller has them.
    """
    found: dict[int, list[InBox]] = defaultdict(list)
    if rows is None:
        rows = _OF_ITEMS.ask(item=items, kit=kit.pk, since=kit.job.date)
    for one in _brought_of(kit, boxes.latest_of(rows), lines):
        if one.counted and one.content.quantity:
            box = InBox(one.content.box_of, one.content.quantity, one.counted)
            found[one.content.item_id].append(box)
    return found


def _brought_of(
    kit: Kit, told: Sequence[CartonContent], lines: Iterable[KitLine] | None = None
) -> list[Brought]:
    """What comes in the boxes of the kit, and how many of these are relied on."""
    if not told:
        return []
    needed: dict[int, int] = defaultdict(int)
    for line in kit.lines.only("kit", "item", "quantity") if lines is None else lines:
        needed[line.item_id] += line.quantity
    doubts: dict[int, list[BoxDoubt]] = defaultdict(list)
    in_doubt = [row for row in told if getattr(row, "in_doubt", False)]
    for doubt in boxes.open_doubts(in_doubt) if in_doubt else ():
        doubts[doubt.content_id].append(doubt)
    return [_brought(kit, row, needed[row.box_of_id], doubts[row.pk]) for row in told]


def _brought(kit: Kit, row: CartonContent, needed: int, doubts: list[BoxDoubt]) -> Brought:
    if not doubts:
        return Brought(row, needed, needed, ())
    lots = {doubt.lot_id: doubt.lot for doubt in doubts}
    sure = min(_packed(kit, row.box_of, lots) + _opened(kit, row.box_of), needed)
    # What is not packed yet may turn out to be of the batch in doubt, as long as any is there.
    counted = sure if any(map(_still_here, lots.values())) else needed
    return Brought(row, needed, counted, tuple(doubts))


def _packed(kit: Kit, item: Item, lots: Iterable[int]) -> int:
    """Boxes in the kit's own places that are of none of these batches."""
    held = Holding.objects.filter(in_its_places(kit, "place__"), lot__item=item)
    return held.exclude(lot__in=list(lots)).aggregate(total=Sum("quantity"))["total"] or 0


def _opened(kit: Kit, item: Item) -> int:
    """Boxes that are open at the site: what was in them is seen there, or missing."""
    loose = Holding.objects.filter(place=kit.job.site.place, lot__item=item)
    fitted = AsBuilt.objects.filter(until=None, since__subject=kit.subject, unit__item=item)
    return (loose.aggregate(total=Sum("quantity"))["total"] or 0) + fitted.count()


def _still_here(lot: Lot) -> bool:
    """Whether a box of the batch may still be taken; without a batch number any may be one."""
    ours = Holding.objects.filter(lot=lot, quantity__gt=0, outside=False)
    return not lot.number or ours.exclude(place__kind__in=AWAY).exists()


def told(kit: Kit) -> list[Brought]:
    """Return everything that comes in the boxes of the kit, in doubt or not."""
    listed = kit.lines.values("item")
    rows = boxes.contents(kit.job.date, Q(item__in=listed, box_of__in=listed))
    return [one for one in _brought_of(kit, rows) if one.content.quantity]
