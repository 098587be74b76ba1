"""A van goes out of service: one act that says where each of its jobs goes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from inventory.lock import writing
from inventory.models import Person, Place
from kitting import visiting
from kitting.models import Job, VanOut
from kitting.packing import Reason, Refused


@dataclass(frozen=True, slots=True)
class To:
    """Where one job goes: another van, another day, or both."""

    van: Place | None = None  # None: it keeps its van
    day: date | None = None  # None: it keeps its day


def standing(van: Place, day: date) -> VanOut | None:
    """Return the row by which a van is out of service that day, None if it is not."""
    latest = VanOut.objects.filter(van=van).order_by("-pk").first()
    return latest if latest is not None and latest.on(day) else None


def all_standing() -> dict[int, VanOut]:
    """Return van id -> its latest row, of vans that are out or will be."""
    found = {row.van_id: row for row in VanOut.objects.order_by("pk").select_related("van")}
    return {van: row for van, row in found.items() if row.first is not None}


def jobs_of(van: Place, first: date, last: date | None) -> list[Job]:
    """Return the jobs that a van was to go out for in these days and that are not over."""
    jobs = Job.objects.filter(van=van, cancelled_at=None, date__gte=first)
    jobs = jobs.exclude(kits__closed_by__isnull=False).select_related("site__place", "van")
    if last is not None:
        jobs = jobs.filter(date__lte=last)
    return list(jobs.distinct().order_by("date", "leaves_at", "code"))


def take_out(
    van: Place,
    first: date,
    last: date | None,
    reason: str,
    goes: Mapping[int, To],
    by: Person,
) -> VanOut:
    """Take a van out of service and send each of its jobs where it goes, all or nothing.

    goes: job id -> where to; a job that is not named stays for somebody to decide, and says so.
    Raises Refused with every reason.
    """
    if not reason.strip():
        raise Refused([Reason("reason", "Say why: expected a reason, got nothing")])
    if last is not None and last < first:
        raise Refused([Reason("last", f"expected a day from {first} on, got {last}")])
    with writing():
        row = VanOut.objects.create(van=van, first=first, last=last, reason=reason[:200], by=by)
        for job in jobs_of(van, first, last):
            to = goes.get(job.pk)
            if to is not None:
                _send(job, to, by)
    return row


def _send(job: Job, to: To, by: Person) -> None:
    day = to.day or job.date
    leaves = job.leaves_at
    if leaves is not None:
        leaves = leaves + (day - job.date)
    van = to.van or job.van
    visiting.change_job(job, day=day, leaves_at=leaves, van=van, crew=job.crew.all(), by=by)


def bring_back(van: Place, by: Person, at: datetime) -> None:
    """Say that a van is in service again."""
    if standing(van, at.date()) is None and van.pk not in all_standing():
        return
    with writing():
        VanOut.objects.create(van=van, first=None, last=None, reason="in service again", by=by)
