"""Planning in one go: site, job and kit are stored together, or nothing is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from inventory.lock import writing
from inventory.models import Person, Place
from kitting import families, packing
from kitting.models import FamilyEdition, Job, Site
from kitting.plan.family import Family


def known_families() -> dict[str, Family]:
    """Return the newest edition of each family that is loaded, by name."""
    names = FamilyEdition.objects.order_by("name").values_list("name", flat=True).distinct()
    editions = [families.current(name) for name in names]
    return {e.name: families.family_of(e) for e in editions if e is not None}


def plan_whole(
    *,
    by: Person,
    site: Site | None,
    site_name: str,
    address: str,
    date: dt.date,
    configuration: Mapping[str, Any],
    van: Place | None,
    crew: Iterable[Person],
    leaves_at: dt.datetime | None,
) -> Job:
    """Store a job with its kit, at a site of ours or a new one.

    Raises packing.Refused with every reason; then nothing was stored.
    """
    with writing():
        job = packing.plan_job(
            by=by,
            site=site or packing.open_site(site_name, address),
            date=date,
            configuration=configuration,
            van=van,
            crew=crew,
            leaves_at=leaves_at,
            before=configuration.get("before"),
        )
        packing.work_out_kit(job, by)
    return job
