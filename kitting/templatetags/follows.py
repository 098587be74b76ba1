"""What has still to come to a job, on every page of it."""

from collections.abc import Iterable
from typing import Any, Protocol

from django import template
from django.utils import timezone

from kitting import asked_for
from kitting.models import Job, Kit
from kitting.overdue import is_overdue

register = template.Library()


class OfJob(Protocol):
    """A row of a page that is about one of several jobs."""

    @property
    def job(self) -> Job: ...


@register.inclusion_tag("kitting/parts/following.html")
def following(job: Job, kit: Kit | None = None) -> dict[str, Any]:
    """What the job left without or asked for and has not got, with who brings it and when.

    kit: as read by `access.kit_read`, which knows whether there is anything to ask about.
    """
    nothing = kit is not None and not getattr(kit, "awaits", True)
    rows = [] if nothing else asked_for.following([job]).get(job.pk, [])
    return {"rows": rows, "job": job}


@register.filter
def overdue(job: Job, kit: Kit | None) -> bool:
    """Whether its day has passed and it is not closed. kit: its latest."""
    return is_overdue(job, kit or None, timezone.localdate())


@register.inclusion_tag("kitting/parts/following_all.html")
def following_all(rows: Iterable[OfJob]) -> dict[str, Any]:
    """The same of several jobs that one page is about, each line with its kit."""
    found = asked_for.following(row.job for row in rows)
    return {"rows": [one for job in found.values() for one in job]}
