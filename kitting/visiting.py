"""A job's visit: day, hour, van, crew, cancelled; each change with who made it and when."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inventory.amending import amended
from inventory.lock import writing
from inventory.models import Amendment, Person, Place, PlaceKind
from kitting import packing
from kitting.models import Job, Package
from kitting.packing import Reason, Refused, job_faults

VISIT = "visit"  # sort of an amendment
LABELS = {"day": "day", "leaves_at": "leaves at", "van": "van", "crew": "crew", "split": "split"}


def change_job(
    job: Job,
    *,
    day: date,
    leaves_at: datetime | None,
    van: Place | None,
    crew: Iterable[Person],
    by: Person,
) -> None:
    """Change day, hour, van or crew, or all of them. Raises Refused.

    What is packed stays where it is: `whereto` says where each thing goes, and a scan moves it.
    """
    people = list(crew)
    with writing():
        job.refresh_from_db()
        was = _visit(job)
        reasons = job_faults(job.kind, job.configuration, van, people)
        kit = job.kit
        moves = kit is not None and kit.released_at is not None and van != job.van
        if moves and van is None:
            reasons.append(Reason("van", "van: expected a van, as the kit is released, got none"))
        if job.cancelled_at is not None:
            reasons.append(Reason("job", f"{job.code} is cancelled"))
        if reasons:
            raise Refused(reasons)
        job.date, job.leaves_at, job.van = day, leaves_at, van
        job.save(update_fields=["date", "leaves_at", "van"])
        job.crew.set(people)
        amended(by, about(job), was, _visit(job))
        if kit is not None and van is not None and moves:
            kit.packages.filter(van=van).update(van=None)
            packing.goes_with(kit, van)


def split(job: Job, vans: Mapping[int, Place], by: Person) -> None:
    """Say which parcel of a released kit goes with which van; vans: number of a parcel -> van.

    A parcel that is not named goes with the job's van. Raises Refused.
    """
    with writing():
        job.refresh_from_db()
        kit = job.kit
        if kit is None or not kit.is_open or job.cancelled_at is not None or job.van is None:
            raise Refused([Reason("kit", f"{job.code} has no kit that could be split")])
        was = _visit(job)
        for parcel in kit.packages.filter(kind=Package.Kind.PARCEL):
            van = vans.get(parcel.number, job.van)
            parcel.van = None if van.pk == job.van_id else van
            parcel.save(update_fields=["van"])
            if parcel.van is not None:
                packing.goes_with(kit, parcel.van, besides=True)
        amended(by, about(job), was, _visit(job))


def about(job: Job) -> str:
    """What amendments of a job's visit are about."""
    return f"{VISIT}:{job.code}"


def _visit(job: Job) -> dict[str, Any]:
    """A visit as it is kept beside who changed it: codes, no names."""
    return {
        "day": f"{job.date}",
        "leaves_at": job.leaves_at.isoformat() if job.leaves_at else None,
        "van": job.van.code if job.van else None,
        "crew": sorted(job.crew.values_list("username", flat=True)),
        "cancelled": job.cancelled_at is not None,
        "split": _split(job),
    }


def _split(job: Job) -> dict[str, str]:
    """Parcel -> van, of those that do not go with the job's."""
    kit = job.kit
    parcels = kit.packages.filter(van__isnull=False) if kit is not None else Package.objects.none()
    return dict(parcels.order_by("number").values_list("place__name", "van__code"))


def cancel_job(job: Job, by: Person, now: datetime | None = None) -> None:
    """Cancel a job. What was packed for it stays in its parcels until somebody brings it back."""
    with writing():
        job.refresh_from_db()
        if job.cancelled_at is None:
            was = _visit(job)
            job.cancelled_at = now or timezone.now()
            job.save(update_fields=["cancelled_at"])
            amended(by, about(job), was, _visit(job))


@dataclass(frozen=True, slots=True)
class Changed:
    """One change of a visit: who, when and what, in words."""

    by: Person | None
    at: datetime
    words: str


def changes(job: Job) -> list[Changed]:
    """Return what was changed of a job's visit, newest first."""
    found = Amendment.objects.filter(about=about(job)).select_related("by").order_by("-pk")
    vans = dict(Place.objects.filter(kind=PlaceKind.VAN).values_list("code", "name"))
    crews = {who for one in found for side in (one.was, one.now) for who in side["crew"]}
    names = dict(Person.objects.filter(username__in=crews).values_list("username", "name"))
    return [Changed(one.by, one.at, _words(one, vans, names)) for one in found]


def _words(one: Amendment, vans: dict[str, str], names: dict[str, str]) -> str:
    if one.now["cancelled"]:
        return "cancelled"
    told: dict[str, Callable[[Any], str]] = {
        "day": lambda day: f"{date.fromisoformat(day):%-d %b %Y}",
        "leaves_at": lambda at: f"{timezone.localtime(datetime.fromisoformat(at)):%H:%M}",
        "van": lambda code: vans.get(code, str(code)),
        "crew": lambda crew: ", ".join(names.get(who, who) for who in crew),
        "split": lambda told: ", ".join(f"{p} with {vans.get(v, v)}" for p, v in told.items()),
    }
    # Visits of before a kit could be split say nothing of it.
    both = {key: (one.was.get(key), one.now.get(key)) for key in LABELS}
    parts = [
        f"{LABELS[key]}: {_or_none(told[key], was)} to {_or_none(told[key], now)}"
        for key, (was, now) in both.items()
        if was != now
    ]
    return "; ".join(parts)


def _or_none(words: Callable[[Any], str], value: Any) -> str:
    return words(value) if value else "none"
