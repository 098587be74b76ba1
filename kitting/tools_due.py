"""Tools whose test runs out: named the evening before the van leaves, not in the cellar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.models import Holding, Lot, Place, Tracking
from inventory.scanning import UP
from kitting.models import Job
from kitting.shelves import carrier, going_with

AHEAD = timedelta(days=1)  # the evening before


@dataclass(frozen=True, slots=True)
class Due:
    """One tool that may not be used on a job that goes out with it."""

    lot: Lot  # its test holds to the end of lot.expires_on
    place: Place  # the van it is on, or the own bag it is in
    job: Job  # the first that leaves without a valid test


def due(today: date) -> list[Due]:
    """Return the tools on vans, loose or in a kit, and in own bags, whose test does not hold for
    the jobs that this van or person has today and tomorrow; each tool once."""
    of_days = Job.objects.filter(date__range=(today, today + AHEAD), cancelled_at=None)
    jobs = list(of_days.order_by("date", "leaves_at", "code"))
    tools = list(_tools(today + AHEAD)) if jobs else []
    going = going_with(jobs, [holding.place for holding in tools])
    found = []
    for holding in tools:
        place = carrier(holding.place)
        theirs = [job for job in jobs if place is not None and place.pk in going[job.pk]]
        lacking = _first_without(theirs, holding.lot)
        if place is not None and lacking is not None:
            found.append(Due(holding.lot, place, lacking))
    return found


def _tools(last: date) -> Iterable[Holding]:
    held = Holding.objects.filter(
        lot__item__tracking=Tracking.TOOL,
        lot__expires_on__lt=last,
        quantity__gt=0,
        outside=False,
    )
    return held.select_related("lot__item", f"place__{UP}").order_by("lot__expires_on", "pk")


def _first_without(jobs: Iterable[Job], lot: Lot) -> Job | None:
    return next((job for job in jobs if lot.expires_on and lot.expires_on < job.date), None)
