"""Rows of the tables handed out that only this house knows: jobs, and stacks that stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from django.utils import timezone

from inventory.handing_out import AT_ONCE, LeftOut, Row
from inventory.models import Person, Place, PlaceKind, Role
from inventory.tables_out import iso, plain, serial_of, words_for
from inventory.workbooks import Cell
from kitting import as_built, planning
from kitting.bringing.installed import ROLES
from kitting.bringing.jobs import column_of
from kitting.models import AsBuilt, Job, JobKind, Site
from kitting.plan.axes import Axis
from kitting.plan.configuration import OWN_KEYS
from kitting.plan.family import Family

ROLE_WORDS = {role: word for word, role in ROLES.items()}


def sites() -> dict[int, Row]:
    """Return id of a site's place -> its cells: its name, or our code where others bear that too.

    Erased: the code, and no address.
    """
    rows = list(Site.objects.select_related("place"))
    codes = {site.place.code for site in rows}
    names = Counter(site.name.casefold() for site in rows)
    whole = Counter((site.name.casefold(), site.address.casefold()) for site in rows)
    found: dict[int, Row] = {}
    for site in rows:
        name, address = site.name, site.address
        alone = names[name.casefold()] == 1
        if not alone:
            alone = plain(address, set()) and whole[name.casefold(), address.casefold()] == 1
        named = name if alone and plain(name, codes) else site.place.code
        found[site.place_id] = {"site": named, "address": address or None}
    return found


def jobs(left: LeftOut) -> Iterator[Row]:
    """Every job that was not cancelled, as its kit's planning page asks for it."""
    known, where = planning.known_families(), sites()
    vans = words_for(Place.objects.filter(kind=PlaceKind.VAN))
    crews = {p.pk for p in Person.objects.filter(is_active=True) if p.has(Role.TECHNICIAN)}
    planned = Job.objects.filter(cancelled_at=None)
    last = {(site, on, kind): pk for pk, site, on, kind in _keys(planned)}
    left.add("jobs beside another of the same site, day and kind", planned.count() - len(last))
    rows = planned.select_related("site", "van").prefetch_related("crew").order_by("pk")
    for job in rows.iterator(chunk_size=AT_ONCE):
        if last[job.site_id, job.date, job.kind] != job.pk:
            continue
        answers = _configuration(job, known.get(str(job.configuration.get("family"))))
        if answers is None:
            left.add("jobs of a parts list that asks otherwise today")
            continue
        crew = list(job.crew.all())
        yield {
            **where[job.site.place_id],
            "day": job.date.isoformat(),
            "leaves at": f"{timezone.localtime(job.leaves_at):%H:%M}" if job.leaves_at else None,
            "van": vans[job.van_id] if job.van_id else None,
            # Of one who left nothing can be planned any more.
            "crew": ", ".join(sorted(p.username for p in crew if p.pk in crews))
            if crews.issuperset(p.pk for p in crew)
            else None,
            "kind": job.kind,
            **answers,
        }


def _keys(jobs: Any) -> Iterator[tuple[int, int, Any, str]]:
    yield from jobs.order_by("pk").values_list("pk", "site_id", "date", "kind")


def _configuration(job: Job, family: Family | None) -> Row | None:
    """Return the answers of a job by their columns; None where no row can say them all."""
    asked: Mapping[str, Any] = job.configuration
    if family is None or set(asked) - set(OWN_KEYS) - family.axes.keys():
        return None
    stacks, before = asked.get("stacks") or [], (asked.get("before") or {}).get("stacks") or []
    if job.kind == JobKind.NEW and any(set(stack) != {"modules"} for stack in stacks):
        return None
    swapped = (f"{one['stack']} place {one['level']}" for one in asked.get("swap") or ())
    answers = {
        column_of(axis.name): _answer(axis, asked[axis.name])
        for axis in family.axes.values()
        if axis.name in asked
    }
    return {
        "stack system": family.name,
        "stacks": _counts(stacks),
        "before": _counts(before),
        "swapped": "; ".join(swapped) or None,
        **answers,
    }


def _counts(stacks: list[dict[str, Any]]) -> str | None:
    return ", ".join(str(stack["modules"]) for stack in stacks) or None


def _answer(axis: Axis, value: int | str) -> Cell:
    """A length stays in mm; a diameter is told in mm, as people measure it."""
    return value / 10 if axis.kind == "diameter" and not isinstance(value, str) else value


def installed(left: LeftOut) -> Iterator[Row]:
    """Every unit of a stack that stands, also one whose serial nobody knows."""
    where = sites()
    rows = AsBuilt.objects.filter(until=None).select_related(
        "unit__item", "unit__lot", "item", "since"
    )
    unread = as_built.told_unseen()
    for row in rows.order_by("site", "stack", "level").iterator(chunk_size=AT_ONCE):
        unit, fitted = row.unit, row.fitted_on
        told = unread.get(as_built.spot(row, row.since_id))
        if fitted is None and not row.found_there:
            fitted = timezone.localdate(row.since.received_at)
        yield {
            **where[row.site_id],
            "item": row.kind_of.code,
            "stack": row.stack,
            "place": row.level,
            "as": ROLE_WORDS[row.role],
            "serial": serial_of(row.serial) or None,
            "revision": row.revision or None,
            "batch": serial_of(unit.lot.number if unit else told.batch if told else "") or None,
            "made on": iso(unit.made_on if unit else told.made_on if told else None),
            "fitted on": iso(fitted),
            "number on screen": row.number,
            "firmware": row.firmware or None,
        }


TABLES = {"jobs": jobs, "installed": installed}
