"""What comes off a wall by plan and may not travel yet: the office decides before a crew drives."""

from __future__ import annotations

from inventory import carriage
from inventory.models import Unit
from kitting.models import AsBuilt, Job, JobKind


def undecided(job: Job) -> list[Unit]:
    """Return the set-aside batteries that a removal or swap takes off, and about whose packing and
    carriage nobody has decided; what came off already and lies there counts too."""
    if job.kind not in (JobKind.REMOVAL, JobKind.SWAP):
        return []
    rows = AsBuilt.objects.filter(site=job.site.place, until=None).exclude(unit=None)
    asked = {(one["stack"], one["level"]) for one in job.configuration.get("swap", ())}
    stands = [
        unit
        for stack, level, unit in rows.values_list("stack", "level", "unit")
        if job.kind == JobKind.REMOVAL or (stack, level) in asked
    ]
    aside = Unit.objects.filter(holds__isnull=False, holds__release=None)
    aside = aside.filter(pk__in=stands) | aside.filter(place=job.site.place)
    found = aside.select_related("item", "lot", "place").distinct().order_by("pk")
    return [unit for unit in found if carriage.undecided(unit)]
