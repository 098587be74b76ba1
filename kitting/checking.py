"""What the audit recomputes of the upper house, and what of it counts in the digest."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.checks.report import Check, Report
from inventory.digest import Row, Section
from inventory.models import Event, Place
from kitting import as_built
from kitting.models import AsBuilt, FamilyEdition, Job, Kit, KitLine, Package

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


def _closings() -> Report:
    """A kit is closed exactly where the latest closing that was not undone says so."""
    report = Report()
    closings = Event.objects.filter(
        step="close_kit", outcomes__verdict="applied", reversed_by=None
    ).distinct()
    by_subject = {event.subject: event.pk for event in closings.order_by("number")}
    for kit in Kit.objects.exclude(released_at=None).order_by("pk"):
        report.read += 1
        report.expect(
            kit.closed_by_id == by_subject.get(kit.subject), f"{kit.code}: closed by another event"
        )
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


SECTIONS: dict[str, Section] = {
    "as built": _stands,
    "editions": _editions,
    "jobs": _jobs,
    "kit lines": _lines,
    "kits": _kits,
    "packages": _packages,
}
