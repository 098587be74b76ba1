"""What jobs and sites know of a unit that a claim asks for; keys are those of claim_needs.NEEDS."""

from __future__ import annotations

from inventory.models import Event, Unit
from kitting.families import family_of
from kitting.models import AsBuilt, ChargeReading, Kit, Site
from kitting.queries import stands_at


def of(unit: Unit) -> dict[str, str]:
    """Return what the record has of a unit where it stands or stood last, {} if it never stood."""
    rows = AsBuilt.objects.filter(unit=unit).select_related("site__site", "since", "until")
    row = rows.order_by("-pk").first()
    if row is None:
        return {}
    site = row.site.site
    there = _beside(row)
    modules = [one.serial for one in there if one.role == "unit" and one.serial]
    heads = [one.serial for one in there if one.role == "head" and one.serial]
    return {
        "installed": _fitted(row),
        "removed": f"{row.until.received_at:%-d %b %Y}" if row.until else "",
        "commissioned": _started(unit),
        "position": _position(row),
        "configuration": f"{sum(one.role == 'unit' for one in there)} modules",
        "modules": ", ".join(modules),
        "control": ", ".join(heads),
        "firmware": ", ".join(f"{one.serial}: {one.firmware}" for one in there if one.firmware),
        "charge": _charges(unit),
        "address": f"{site.name}, {site.address}",
        "surroundings": _surroundings(site),
    }


def _surroundings(site: Site) -> str:
    """What was answered about the site, for the latest kit or the stack that others fitted."""
    kits = Kit.objects.filter(job__site=site).order_by("-pk").select_related("edition", "job")
    kit, survey = kits.first(), site.surveys.order_by("-pk").select_related("edition").first()
    if kit is not None:
        edition, given = kit.edition, kit.job.configuration
    elif survey is not None:
        edition, given = survey.edition, survey.configuration
    else:
        return ""
    axes = family_of(edition).axes.values()
    told = [f"{axis.plain} {axis.shown(given[axis.name])}" for axis in axes if axis.name in given]
    return "; ".join(told)


def _beside(row: AsBuilt) -> list[AsBuilt]:
    """What stands at the site now, and the unit itself where it came off."""
    there = list(stands_at(row.site))
    return there if any(one.pk == row.pk for one in there) else [row, *there]


def _position(row: AsBuilt) -> str:
    shown = f", number {row.number} on screen" if row.number is not None else ""
    return f"stack {row.stack}, place {row.level}{shown}"


def _fitted(row: AsBuilt) -> str:
    """The day as far as anybody knows it; the day on which a file came is none."""
    if row.fitted_on is not None:
        return f"{row.fitted_on:%-d %b %Y}"
    return "" if row.found_there else f"{row.since.received_at:%-d %b %Y}"


def _started(unit: Unit) -> str:
    started = Event.objects.filter(
        scan__unit=unit,
        step="commission",
        reversed_by=None,
        outcomes__verdict__in=("applied", "problem"),
    )
    first = started.order_by("number").first()
    return f"{first.received_at:%-d %b %Y}" if first is not None else ""


def _charges(unit: Unit) -> str:
    """Charges that were read before it was joined."""
    read = ChargeReading.objects.filter(unit=unit, event__reversed_by=None).order_by("pk")
    return ", ".join(f"{one.percent} % on {one.event.received_at:%-d %b %Y}" for one in read)


def replacement(claim_event: Event) -> Unit | None:
    """Return the unit that a swap stood in the place of the claimed one."""
    moved = claim_event.movements.filter(to_place__kind="stack").select_related("unit__item")
    first = moved.first()
    return first.unit if first is not None else None


def boxes_to_keep(kit: Kit) -> bool:
    """Whether the boxes of this job's new units are kept: what comes off goes back in them."""
    return kit.job.kind == "swap"
