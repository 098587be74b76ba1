"""Jobs whose day has passed and that nobody has closed; the weeks nearest to an empty one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, QuerySet

from kitting.models import Job, Kit


def is_overdue(job: Job, kit: Kit | None, today: date) -> bool:
    """Whether its planned day has passed and it is neither closed nor cancelled.

    kit: its latest, None where none was worked out.
    """
    closed = kit is not None and kit.closed_by_id is not None
    return job.date < today and job.cancelled_at is None and not closed


def jobs(among: QuerySet[Job], today: date) -> list[Job]:
    """Return those of these jobs that are overdue, the longest first."""
    closed = Exists(Kit.objects.filter(job=OuterRef("pk")).exclude(closed_by=None))
    return list(among.filter(~closed, date__lt=today, cancelled_at=None).order_by("date", "code"))


@dataclass(frozen=True, slots=True)
class Near:
    """The Mondays of the nearest weeks with jobs; None: there is none on that side."""

    before: date | None
    after: date | None


def near(among: QuerySet[Job], first: date, days: int) -> Near:
    """Return the weeks with jobs nearest to the one that begins on this day."""
    dates = among.values_list("date", flat=True)
    before = dates.filter(date__lt=first).order_by("-date").first()
    after = dates.filter(date__gte=first + timedelta(days=days)).order_by("date").first()
    return Near(_monday(before), _monday(after))


def _monday(day: date | None) -> date | None:
    return day - timedelta(days=day.weekday()) if day is not None else None
