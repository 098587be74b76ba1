"""Tools whose test runs out: named the evening before the van leaves, not in the cellar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.models import Holding, Lot, Place, PlaceKind, Tracking
from inventory.scanning import UP
from kitting.models import Job

AHEAD = timedelta(days=1)  # the evening before


@dataclass(frozen=True, slots=True)
class Due:
    """One tool that may not be used on a job that goes out with it."""

    lot: Lot  # its test holds to the end of lot.expires_on
    van: Place
    job: Job  # the first that leaves without a valid test


def due(today: date) -> list[Due]:
    """Return the tools on vans, loose or in a kit, whose test does not hold for that van's jobs of
    today and tomorrow; each tool once."""
    jobs = Job.objects.filter(date__range=(today, today + AHEAD), cancelled_at=None)
    jobs = jobs.exclude(van=None).select_related("van").order_by("date", "leaves_at", "code")
    first: dict[int, list[Job]] = {}
    for job in jobs:
        assert job.van_id is not None, "asked so"
        first.setdefault(job.van_id, []).append(job)
    found = []
    for holding in _tools(today + AHEAD) if first else ():
        van = holding.place.within(PlaceKind.VAN)
        lacking = _first_without(first.get(van.pk, ()) if van else (), holding.lot)
        if van is not None and lacking is not None:
            found.append(Due(holding.lot, van, lacking))
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
