"""Planning in one go: site, job and kit are stored together, or nothing is; what to begin with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from inventory.lock import writing
from inventory.models import Person, Place
from kitting import families, packing
from kitting.models import FamilyEdition, Job, JobKind, Site
from kitting.plan.axes import Axis
from kitting.plan.family import Family
from kitting.plan.site import UNKNOWN

SATURDAY = 5


@dataclass(frozen=True, slots=True)
class Remembered:
    """An answer of an earlier job."""

    text: str  # as it is typed on the page
    job: str  # code of that job


def known_families() -> dict[str, Family]:
    """Return the newest edition of each family that is loaded, by name."""
    names = FamilyEdition.objects.order_by("name").values_list("name", flat=True).distinct()
    editions = [families.current(name) for name in names]
    return {e.name: families.family_of(e) for e in editions if e is not None}


def workday(day: dt.date) -> dt.date:
    """Return the next day that is neither Saturday nor Sunday.

    >>> workday(dt.date(2026, 11, 26)).isoformat(), workday(dt.date(2026, 11, 27)).isoformat()
    ('2026-11-27', '2026-11-30')
    """
    day += dt.timedelta(days=1)
    while day.weekday() >= SATURDAY:
        day += dt.timedelta(days=1)
    return day


def first_answers(person: Person, known: Mapping[str, Family], today: dt.date) -> dict[str, Any]:
    """Return what the planning page begins with: as this person planned last, the next workday."""
    last = Job.objects.filter(planned_by=person).select_related("van").order_by("-pk").first()
    begin: dict[str, Any] = {"date": workday(today).isoformat(), "job": JobKind.NEW.value}
    if len(known) == 1:
        begin["family"] = next(iter(known))
    if last is not None:
        begin["family"] = last.configuration.get("family", "")
        begin["van"] = str(last.van_id or "")
        if last.leaves_at:
            begin["leaves_at"] = f"{timezone.localtime(last.leaves_at):%H:%M}"
    return begin


def remembered(person: Person, family: Family, site: Site | None) -> dict[str, Remembered]:
    """Return earlier answers to a family's questions, by axis.

    All that was answered for this very site; else what this person chose last. A length or a
    diameter of another house is never taken over: it would look like a measured one.
    """
    jobs = Job.objects.filter(configuration__family=family.name, cancelled_at=None).order_by("-pk")
    own, here = jobs.filter(planned_by=person).first(), None
    if site is not None:
        here = jobs.filter(site=site).first()
    found: dict[str, Remembered] = {}
    for job, choices_only in ((own, True), (here, False)):
        for axis in family.axes.values() if job else ():
            value = job.configuration.get(axis.name) if job else None
            known = value not in (None, UNKNOWN) and axis.accepts(value)
            if job and known and not (choices_only and axis.kind != "choice"):
                found[axis.name] = Remembered(as_typed(axis, value), job.code)
    return found


def as_typed(axis: Axis, value: Any) -> str:
    """Return an answer of a configuration as the page has it."""
    return f"{value / 10:g}" if axis.kind == "diameter" and value != UNKNOWN else str(value)


def as_fields(configuration: Mapping[str, Any], family: Family) -> dict[str, str]:
    """Return a configuration as the planning page has it: field -> what is typed in it."""
    fields = {
        f"about_{name}": as_typed(axis, configuration[name])
        for name, axis in family.axes.items()
        if configuration.get(name) is not None
    }
    before = configuration.get("before") or {}
    for name, stacks in (("stacks", configuration), ("before", before)):
        fields[name] = ", ".join(str(one["modules"]) for one in stacks.get("stacks", ()))
    return {**fields, "family": family.name, "job": str(configuration.get("job", JobKind.NEW))}


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
