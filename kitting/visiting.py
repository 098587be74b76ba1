"""A job's visit: day, hour, van, crew, cancelled; each change with who made it and when."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inventory.amending import amended
from inventory.lock import writing
from inventory.models import Amendment, Person, Place, PlaceKind
from inventory.placing import holds_something, stand
from kitting.models import Job, Kit, Package
from kitting.packing import Reason, Refused, job_faults

VISIT = "visit"  # sort of an amendment
LABELS = {"day": "day", "leaves_at": "leaves at", "van": "van", "crew": "crew"}


def change_job(
    job: Job,
    *,
    day: date,
    leaves_at: datetime | None,
    van: Place | None,
    crew: Iterable[Person],
    by: Person,
) -> None:
    """Change day, hour, van or crew. Raises Refused: a loaded kit keeps its van."""
    people = list(crew)
    with writing():
        job.refresh_from_db()
        was = _visit(job)
        reasons = job_faults(job.kind, job.configuration, van, people)
        kit = job.kit
        moves = kit is not None and kit.released_at is not None and van != job.van
        if kit is not None and moves:
            reasons += _van_faults(kit, van)
        if job.cancelled_at is not None:
            reasons.append(Reason("job", f"{job.code} is cancelled"))
        if reasons:
            raise Refused(reasons)
        job.date, job.leaves_at, job.van = day, leaves_at, van
        job.save(update_fields=["date", "leaves_at", "van"])
        job.crew.set(people)
        amended(by, about(job), was, _visit(job))
        if kit is not None and van is not None and moves:
            load = kit.packages.select_related("place").get(kind=Package.Kind.LOAD)
            stand(load.place, van, f"Loaded on {van.name}")


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
    }


def _van_faults(kit: Kit, van: Place | None) -> list[Reason]:
    """Why a released kit cannot leave with another van."""
    if van is None:
        return [Reason("van", "van: expected a van, as the kit is released, got none")]
    packages = kit.packages.select_related("place")
    load = packages.get(kind=Package.Kind.LOAD).place
    there = [p.place for p in packages if p.kind != Package.Kind.LOAD]
    if holds_something(load) or any(place.within(PlaceKind.VAN) for place in there):
        name = kit.job.van.name if kit.job.van else "a van"
        return [Reason("van", f"van: {kit.code} is loaded on {name} in part. Unload it first")]
    return []


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
    }
    parts = [
        f"{label}: {_or_none(told[key], one.was[key])} to {_or_none(told[key], one.now[key])}"
        for key, label in LABELS.items()
        if one.was[key] != one.now[key]
    ]
    return "; ".join(parts)


def _or_none(words: Callable[[Any], str], value: Any) -> str:
    return words(value) if value else "none"
