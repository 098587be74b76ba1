"""A technician calls: the job is found by street, a name, or the end of any serial of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.models import Place, Unit
from kitting.models import Job

LEAST = 4  # characters of a serial's end: fewer name half the stock
MOST = 12  # jobs on the page


@dataclass(frozen=True, slots=True)
class Found:
    """A job that somebody may mean."""

    job: Job
    because: str  # what of it was found


def jobs_for(text: str, today: date) -> list[Found]:
    """Return the open jobs that a text may mean, those nearest to today first; none for no text."""
    asked = " ".join(text.split())
    if not asked:
        return []
    found = {job.pk: Found(job, "") for job in _by_name(asked)}
    for job, unit in _by_serial(asked):
        found.setdefault(job.pk, Found(job, f"{unit} is of this job"))
    by_day = sorted(found.values(), key=lambda one: abs((one.job.date - today).days))
    return by_day[:MOST]


def _open() -> QuerySet[Job]:
    jobs = Job.objects.filter(cancelled_at=None)
    jobs = jobs.filter(kits__released_at__isnull=False, kits__closed_by=None).distinct()
    return jobs.select_related("site__place", "van").prefetch_related("crew").order_by("date")


def _by_name(text: str) -> QuerySet[Job]:
    """By the street, the name of the site or of somebody on the crew, or the job's code."""
    site = Q(site__name__icontains=text) | Q(site__address__icontains=text)
    return _open().filter(site | Q(code__icontains=text) | Q(crew__name__icontains=text))


def _by_serial(text: str) -> Iterable[tuple[Job, Unit]]:
    """By the end of a serial of anything in its parcels or at its site, in any case."""
    try:
        end = serial_key(text)
    except CodeError:  # a street has letters that no serial has
        return
    if len(end) < LEAST:
        return
    jobs = list(_open().prefetch_related("kits"))
    at_site = {job.site.place_id: job for job in reversed(jobs)}
    of_kit = {kit.subject: job for job in jobs for kit in job.kits.all()}
    near = Place.objects.filter(
        Q(pk__in=at_site)
        | Q(parent__in=at_site)
        | Q(parent__parent__in=at_site)
        | Q(subject__in=of_kit)
        | Q(parent__subject__in=of_kit)
    )
    units = Unit.objects.filter(place__in=near, serial_key__iendswith=end)
    for unit in units.select_related("item", "place__parent__parent__parent").order_by("pk"):
        around = unit.place.way_up() if unit.place else []
        for place in around:
            job = of_kit.get(place.subject) or at_site.get(place.pk)
            if job is not None:
                yield job, unit
                break
