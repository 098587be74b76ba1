"""What the audit recomputes of the upper house."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from inventory.checks.report import Check, Report
from inventory.digest import Row
from inventory.models import Event, Place, PlaceKind
from kitting import as_built, changing, packing
from kitting.counted import STANDING
from kitting.models import (
    AsBuilt,
    Kit,
    KitChange,
    OwnBag,
)
from kitting.shelves import OWNER


def _rows(site: Place) -> list[Row]:
    return sorted(AsBuilt.objects.filter(site=site).values_list(*STANDING), key=str)


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
    for kit in Kit.objects.order_by("pk"):
        report.read += 1
        event = closed_by.get(kit.subject) if kit.released_at else None
        right = kit.closed_by_id == (event.pk if event else None)
        report.expect(right, f"{kit.code}: closed by another event")
    return report


def _changes() -> Report:
    """Each change begins with what the one before left; the last one left what the kit is."""
    report = Report()
    left: dict[int, tuple[Kit, object]] = {}
    rows = KitChange.objects.select_related("kit__job").order_by("kit", "number")
    for change in rows.iterator(chunk_size=100):
        report.read += 1
        begins = _nameless(change.old_snapshot)
        kit, before = left.get(change.kit_id, (change.kit, begins))
        said = f"{kit.code}: change {change.number} does not begin with what was there"
        report.expect(begins == before, said)
        left[kit.pk] = (kit, _nameless(change.new_snapshot))
    for kit, after in left.values():
        there = _nameless(changing.kept(kit))
        report.expect(there == after, f"{kit.code} is not what its last change left")
    return report


def _nameless(kept: Mapping[str, Any]) -> dict[str, Any]:
    """A kept snapshot without the names of its items, which may change."""
    lines = [replace(line, name="").as_json() for line in changing.lines_told(kept["lines"])]
    return {**kept, "lines": lines}


def _own_bags() -> Report:
    """An own bag names its person, and each bag that names one is theirs."""
    report = Report()
    theirs = {f"{OWNER}{row.person.uid}": row for row in OwnBag.objects.select_related("person")}
    for bag in Place.objects.filter(subject__startswith=OWNER).order_by("pk"):
        report.read += 1
        row = theirs.pop(bag.subject, None)
        right = row is not None and row.place_id == bag.pk and bag.kind == PlaceKind.BAG
        report.expect(right, f"{bag.code}: an own bag of nobody")
    for row in theirs.values():
        report.expect(False, f"{row.person}: the own bag is no bag of theirs")
    return report


CHECKS = (
    Check("what stands at a site follows from its events", AsBuilt, _standing),
    Check("kits are closed by their events", Kit, _closings),
    Check("changed kits are what their changes left", KitChange, _changes),
    Check("own bags are their people's", OwnBag, _own_bags),
)
