"""Jobs and sites that a file brought in and that are taken back with it, as if they never were."""

from __future__ import annotations

from inventory.lock import writing
from inventory.models import Event
from inventory.moving import CannotMove
from kitting.models import AsBuilt, CheckSigned, HandLine, Job, KitLine, Site


def withdraw(job: Job) -> None:
    """Remove a job with its kit. Raises CannotMove where somebody has begun with it."""
    kits = job.kits.all()
    subjects = [kit.subject for kit in kits]
    begun = (
        kits.exclude(released_at=None).exists()
        or HandLine.objects.filter(job=job).exists()
        or CheckSigned.objects.filter(kit__job=job).exists()
        or Event.objects.filter(subject__in=subjects).exists()
    )
    if begun:
        raise CannotMove(f"Somebody has begun with {job.code}: cancel it on its page")
    with writing():
        KitLine.objects.filter(kit__job=job).delete()
        kits.delete()
        job.crew.clear()
        job.delete()


def close_sites(event: Event) -> None:
    """Remove the sites that were entered for an event and at which nothing is planned or stands."""
    with writing():
        for site in Site.objects.filter(brought_by=event).select_related("place"):
            used = (
                site.jobs.exists()
                or site.surveys.exists()
                or AsBuilt.objects.filter(site=site.place).exists()
            )
            if not used:
                # The place stays: movements name it. Without a site it bears no name and no house.
                site.delete()
