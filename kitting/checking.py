"""What the audit recomputes of the upper house, and what of it counts in the digest."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.checks.report import Check, Report
from inventory.digest import Row, Section
from inventory.models import Event, Place, PlaceKind
from kitting import as_built, packing
from kitting.models import AsBuilt, CheckSigned, FamilyEdition, Job, Kit, KitLine, Package

_STANDING = (
    "site__code",
    "stack",
    "level",
    "role",
    "unit__item__code",
    "unit__serial_key",
    "number",
    "firmware",
    "since__uid",
    "until__uid",
)


def _rows(site: Place) -> list[Row]:
    return sorted(AsBuilt.objects.filter(site=site).values_list(*_STANDING), key=str)


class _Rolled(Exception):
    """Ends a trial fold; carries what it gave."""


def _standing() -> Report:
    """What stands at each site is what its events say."""
    from django.db import transaction

    report = Report()
    for site in Place.objects.filter(as_built__isnull=False).distinct().order_by("pk"):
        before = _rows(site)
        report.read += len(before)
        try:
            with transaction.atomic():
                as_built.refold(site)
                after = _rows(site)
                raise _Rolled
        except _Rolled:
            report.expect(before == after, f"{site.code}: what stands is not what the events say")
    return report


def _closed_by() -> dict[str, Event]:
    """The closing of each subject that was not undone; the latest where there are several."""
    closings = Event.objects.filter(step="close_kit", outcomes__verdict="applied", reversed_by=None)
    return {event.subject: event for event in closings.distinct().order_by("number")}


def rebuild() -> None:
    """Make what stands at every site, and which kits are closed, anew from the events."""
    for site in Place.objects.filter(kind=PlaceKind.SITE).order_by("pk"):
        as_built.refold(site)
    closed_by = _closed_by()
    for kit in Kit.objects.exclude(released_at=None).order_by("pk"):
        event = closed_by.get(kit.subject)
        if event is not None:
            packing.close(kit, event)
        elif kit.closed_by_id is not None:
            packing.reopen(kit)


def _closings() -> Report:
    """A kit is closed exactly where the latest closing that was not undone says so."""
    report = Report()
    closed_by = _closed_by()
    for kit in Kit.objects.exclude(released_at=None).order_by("pk"):
        report.read += 1
        event = closed_by.get(kit.subject)
        right = kit.closed_by_id == (event.pk if event else None)
        report.expect(right, f"{kit.code}: closed by another event")
    return report


CHECKS = (
    Check("what stands at a site follows from its events", AsBuilt, _standing),
    Check("kits are closed by their events", Kit, _closings),
)


def _jobs() -> Iterable[Row]:
    for job in Job.objects.select_related("site__place", "van").prefetch_related("crew"):
        crew = sorted(person.username for person in job.crew.all())
        van = job.van.code if job.van else ""
        cancelled = job.cancelled_at is not None
        yield (job.code, job.kind, job.site.place.code, job.date, van, crew, cancelled)


def _kits() -> Iterable[Row]:
    for kit in Kit.objects.select_related("edition", "closed_by"):
        closed = str(kit.closed_by.uid) if kit.closed_by else ""
        yield (kit.code, kit.edition.sha256, kit.released_at is not None, closed)


def _lines() -> Iterable[Row]:
    return KitLine.objects.values_list("kit__code", "item__code", "step", "quantity", "unit")


def _packages() -> Iterable[Row]:
    return Package.objects.values_list("kit__code", "kind", "step", "place__code")


def _stands() -> Iterable[Row]:
    return AsBuilt.objects.values_list(*_STANDING)


def _editions() -> Iterable[Row]:
    return FamilyEdition.objects.values_list("name", "edition", "status", "sha256")


def _checks() -> Iterable[Row]:
    names = ("kit__code", "question", "item__code", "quantity", "words", "by__username")
    return CheckSigned.objects.values_list(*names)


SECTIONS: dict[str, Section] = {
    "as built": _stands,
    "checks signed": _checks,
    "editions": _editions,
    "jobs": _jobs,
    "kit lines": _lines,
    "kits": _kits,
    "packages": _packages,
}
