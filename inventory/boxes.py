"""What suppliers' boxes hold, and which of it is in doubt: one box that held something else.

A doubt is about one thing in the boxes of one batch. Things with a serial have no batch of their
own: all their boxes are one then. A doubt ends when a box of the batch is opened and holds what is
told. Each is written for an event, as everything that happened is.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.models import BoxDoubt, BoxDoubtEnd, CartonContent, Event, Finding, Item, Lot
from inventory.moving import Writing
from inventory.rows import Slot
from inventory.words import amount


def contents(day: date, which: Q) -> list[CartonContent]:
    """Return what boxes hold on a day, of several dates the latest; `which` narrows it down.

    Each row says by `in_doubt` whether an open doubt is about it.
    """
    return latest_of(dated(day, which))


def dated(day: date | Slot, which: Q) -> QuerySet[CartonContent]:
    """Every row that is told of boxes up to a day, the latest last; the rest as of `contents`."""
    doubts = BoxDoubt.objects.filter(content=OuterRef("pk"), end=None)
    rows = CartonContent.objects.filter(which, since__lte=day).annotate(in_doubt=Exists(doubts))
    return rows.select_related("box_of", "item").order_by("since", "pk")


def latest_of(rows: Iterable[CartonContent]) -> list[CartonContent]:
    """Of several dates of one thing in one box the latest; `rows` in the order of `dated`."""
    latest = {(row.box_of_id, row.item_id): row for row in rows}
    return [row for _, row in sorted(latest.items())]


def of_box(item: Item, day: date) -> list[CartonContent]:
    """Return what a box of this item holds on a day."""
    return contents(day, Q(box_of=item))


def open_doubts(about: Iterable[CartonContent]) -> QuerySet[BoxDoubt]:
    """Return the doubts about these contents that no box has ended yet, oldest first."""
    found = BoxDoubt.objects.filter(content__in=list(about), end=None).order_by("pk")
    return found.select_related("content__box_of", "content__item", "lot__item")


def differs(writes: Writing, lot: Lot, item: Item, told: CartonContent | None, found: int) -> str:
    """A box of this batch held `found` of an item: open a problem and, of what is told, a doubt.

    found: base units. Returns what a person reads.
    """
    held = amount(found, item) if found else f"no {item.name}"
    due = amount(told.quantity, item) if told is not None and told.quantity else "none"
    words = f"A box of {_name(lot)} held {held}, told is {due}."
    writes.finding(Finding.Kind.BOX, words, item=item, quantity=max(found, 1))
    if told is not None:
        _doubt(writes, told, lot, found)
    return words


def as_told(writes: Writing, lot: Lot, seen: Iterable[CartonContent]) -> list[BoxDoubt]:
    """A box of this batch held what is told of these: return the doubts that this ends."""
    ended = list(open_doubts(seen).filter(lot=lot))
    for doubt in ended:
        _end(writes, doubt)
    findings = Finding.objects.filter(event__box_doubts__in=ended, kind="box", answer=None)
    for finding in findings.distinct():
        writes.answer(finding, "Another box was opened and held what is told.")
    return ended


def undo(writes: Writing, done: Event) -> None:
    """Take back what an event opened or ended; problems are taken back with every undo."""
    for doubt in BoxDoubt.objects.filter(event=done, end=None):
        _end(writes, doubt)
    for end in BoxDoubtEnd.objects.filter(event=done).select_related(
        "doubt__content", "doubt__lot"
    ):
        _doubt(writes, end.doubt.content, end.doubt.lot, end.doubt.found)


def _doubt(writes: Writing, content: CartonContent, lot: Lot, found: int) -> None:
    BoxDoubt.objects.create(event=writes.event, content=content, lot=lot, found=found)


def _end(writes: Writing, doubt: BoxDoubt) -> None:
    BoxDoubtEnd.objects.create(event=writes.event, doubt=doubt)


def _name(lot: Lot) -> str:
    return f"{lot.item.name}, batch {lot.number}" if lot.number else lot.item.name
