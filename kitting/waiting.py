"""Which kit waits for a thing that has just come through the door: said to who scans it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Sum

from inventory.models import Item, PlaceKind
from inventory.rows import Question, Slot
from kitting import still_needed
from kitting.models import Job, Kit, KitLine, Package
from kitting.progress import fold
from kitting.shelves import on_shelves

SOON = timedelta(days=7)  # a kit that leaves later finds it on the shelf
_WITH = Question(
    lambda: (
        still_needed.open_kits()
        .filter(
            lines__item=Slot(KitLine, "item"),
            job__date__range=(Slot(Job, "date", "start"), Slot(Job, "date", "until")),
        )
        .distinct()
    )
)


def waits_for(item: Item, quantity: int, day: date) -> str:
    """Return whose kit the `quantity` (base units) that came today covers first, "" for nobody's.

    Kits released earlier take the shelf first, as everywhere. Nobody is asked about a kit unless
    what is needed in all is more than lay there before.
    """
    kits = _open(item, day)
    if not kits:
        return ""
    there = sum(spot.quantity for spot in on_shelves([item.pk])[item.pk]) - quantity
    needed = KitLine.objects.filter(kit__in=kits, item=item).aggregate(all=Sum("quantity"))["all"]
    if needed <= there:
        return ""
    for kit in kits:
        total = fold(kit, item).totals[item.code]
        if total.to_pick > max(there, 0):
            return _words(kit, day)
        there -= total.to_pick
    return ""


def _open(item: Item, day: date) -> Sequence[Kit]:
    """Return the released kits with this item that leave soon, in their turn."""
    return _WITH.ask(item=item.pk, start=day, until=day + SOON)


def _words(kit: Kit, day: date) -> str:
    bay = Package.objects.filter(kit=kit, kind=Package.Kind.BAY).select_related("place").first()
    where = f": straight to {bay.place.name}" if bay else ""
    return f"For job {kit.job.code}, {_leaves(kit.job, bay, day)}{where}."


def _leaves(job: Job, bay: Package | None, day: date) -> str:
    if job.leaves_at is None:
        return f"on {job.date:%-d %b}"
    depot = bay.place.within(PlaceKind.DEPOT) if bay else None
    zone = ZoneInfo((depot.time_zone if depot else "") or job.site.time_zone)
    at = job.leaves_at.astimezone(zone)
    return f"leaves {at:%H:%M}" if at.date() == day else f"leaves {at:%-d %b %H:%M}"
