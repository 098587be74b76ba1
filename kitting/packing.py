"""The only writer of jobs and kits: planned, worked out, released, closed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inventory.lock import writing
from inventory.models import Event, Item, Person, Place, PlaceKind, Role, Tracking
from inventory.placing import holds_something, make, stand
from kitting import box_letters, by_hand, families, signing, snapshot, sourcing, sparing, starting
from kitting.models import FamilyEdition, Job, JobKind, Kit, KitLine, Package, Site
from kitting.plan.errors import ConfigurationError
from kitting.sourcing import Short

FIRST_JOB = 1001
BARS = "expands_from"  # the engine's reason against old units that accept no expansion
HEAVY_G = 3000  # grams of one piece: from here on it stands in the bay and goes in no bag


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why something was refused."""

    rule: str  # name of the limit, field or step
    message: str  # expected X, got Y, in plain words


class Refused(Exception):
    """A job or kit cannot be as asked; `reasons` holds every reason at once."""

    def __init__(self, reasons: Sequence[Reason]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(reason.message for reason in reasons))


def open_site(
    name: str,
    address: str,
    time_zone: str = "UTC",
    brought_by: Event | None = None,
    phone: str = "",
) -> Site:
    """Enter a site; its place carries no name, address or number, which can be erased."""
    with writing():
        place = make(PlaceKind.SITE, "Site", time_zone=time_zone)
        # The label code names it: nothing here tells whose house it is.
        Place.objects.filter(pk=place.pk).update(name=f"Site {place.code}")
        place.name = f"Site {place.code}"
        return Site.objects.create(
            name=name,
            address=address,
            phone=phone,
            time_zone=time_zone,
            place=place,
            brought_by=brought_by,
        )


def change_site(site: Site, *, name: str, address: str, phone: str) -> None:
    """Write or erase a site's name, address and number; its label code names it for ever."""
    with writing():
        Site.objects.filter(pk=site.pk).update(name=name, address=address, phone=phone)


def plan_job(
    *,
    by: Person,
    site: Site,
    date: date,
    configuration: Mapping[str, Any],
    van: Place | None = None,
    crew: Iterable[Person] = (),
    leaves_at: datetime | None = None,
    before: Mapping[str, Any] | None = None,
    brought_by: Event | None = None,
) -> Job:
    """Store a job. Raises Refused with every reason."""
    people = list(crew)
    kind = str(configuration.get("job", ""))
    reasons = job_faults(kind, configuration, van, people)
    if reasons:
        raise Refused(reasons)
    asked = starting.filled(site, configuration)
    with writing():
        job = Job.objects.create(
            code=_next_job_code(),
            kind=kind,
            site=site,
            date=date,
            leaves_at=leaves_at,
            van=van,
            configuration=asked,
            before=asked.get("before") or (dict(before) if before else None),
            planned_by=by,
            brought_by=brought_by,
        )
        job.crew.set(people)
    return job


def job_faults(
    kind: str, configuration: Mapping[str, Any], van: Place | None, crew: Sequence[Person]
) -> list[Reason]:
    """Return why there can be no job of this kind with this van and crew."""
    reasons = []
    if kind not in JobKind.values:
        reasons.append(Reason("job", f"job: expected {', '.join(JobKind.values)}, got {kind!r}"))
    name = str(configuration.get("family", ""))
    if families.current(name) is None:
        reasons.append(Reason("family", f"family: expected one that is loaded, got {name!r}"))
    if van is not None and van.kind != PlaceKind.VAN:
        reasons.append(Reason("van", f"van: expected a van, got {van.name}"))
    reasons += [
        Reason("crew", f"crew: expected a technician, got {person.name}")
        for person in crew
        if not person.has(Role.TECHNICIAN)
    ]
    return reasons


def _next_job_code() -> str:
    codes = Job.objects.filter(code__regex=r"^J[0-9]+$").values_list("code", flat=True)
    return f"J{max((int(code[1:]) for code in codes), default=FIRST_JOB - 1) + 1}"


def work_out_kit(job: Job, by: Person) -> Kit:
    """Work out a job's kit and store it as the next revision. Raises Refused, every reason."""
    with writing():
        # Looked at under the lock: meanwhile another may release it, or change a line by hand.
        job.refresh_from_db()
        edition = families.current(str(job.configuration.get("family", "")))
        latest = job.kit
        if edition is None:
            raise Refused([Reason("family", "family: expected one that is loaded")])
        if latest is not None and latest.released_at is not None:
            raise Refused([Reason("kit", f"{latest.code} is released and stays as it is")])
        if job.cancelled_at is not None:
            raise Refused([Reason("job", f"{job.code} is cancelled")])
        asked = starting.filled(job.site, job.configuration)
        result = laid_over(job, edition, worked_out(edition, asked, job.site))
        if asked != job.configuration:
            # What stands there has changed since the job was planned.
            job.configuration, job.before = asked, asked.get("before")
            job.save(update_fields=["configuration", "before"])
        return _store(job, edition, result, by)


def worked_out(
    edition: FamilyEdition, asked: Mapping[str, Any], site: Site | None = None
) -> snapshot.WorkedOut:
    """Ask the engine. Raises Refused with every reason; units of the site are named in them."""
    try:
        result = snapshot.work_out(edition, asked)
    except ConfigurationError as error:
        raise Refused([Reason(fault.key, str(fault)) for fault in error.faults]) from error
    if not result.refused:
        return result
    reasons = [Reason(entry["rule"], entry["message"]) for entry in result.refused]
    named = starting.bars(site, families.family_of(edition)) if site is not None else []
    if named and any(reason.rule == BARS for reason in reasons):
        reasons = [reason for reason in reasons if reason.rule != BARS]
        reasons += [Reason(BARS, message) for message in named]
    raise Refused(reasons)


def laid_over(job: Job, edition: FamilyEdition, result: snapshot.WorkedOut) -> snapshot.WorkedOut:
    """What was worked out with what people signed for the job and changed of it by hand."""
    return by_hand.applied(job, signing.applied(job, edition, result))


def take_both(job: Job, axis: str, by: Person) -> Kit:
    """Let an open question go along with the lines of each answer. Raises Refused."""
    with writing():
        job.refresh_from_db()
        before = job.configuration
        both = [*before.get("take_both", ()), axis]
        job.configuration = {**before, "take_both": list(dict.fromkeys(both))}
        job.save(update_fields=["configuration"])
        try:
            return work_out_kit(job, by)
        except Refused:
            job.configuration = before
            raise


def sign_check(
    kit: Kit, question: str, by: Person, *, item: Item | None, quantity: int, words: str
) -> Kit:
    """Sign one check of a kit; where an item is taken for it, the next revision holds it too.

    Raises signing.NotSigned, or Refused where the kit cannot be worked out again.
    """
    with writing():
        signing.sign(kit, question, by, item=item, quantity=quantity, words=words)
        return kit if item is None else work_out_kit(kit.job, by)


def _store(job: Job, edition: FamilyEdition, result: snapshot.WorkedOut, by: Person) -> Kit:
    whole, items = with_spares(result)
    with writing():
        revision = job.kits.count() + 1
        kit = Kit.objects.create(
            job=job,
            revision=revision,
            code=f"{job.code}-{revision}",
            edition=edition,
            snapshot=whole.snapshot,
            worked_out_by=by,
        )
        KitLine.objects.bulk_create(rows_of(kit, whole, items))
    return kit


def with_spares(result: snapshot.WorkedOut) -> tuple[snapshot.WorkedOut, dict[str, Item]]:
    """Return what was worked out with its spares, and the items of all its lines by code."""
    items = {item.code: item for item in Item.objects.filter(code__in=result.items())}
    besides = sparing.spares_of(result.lines, items)
    whole = replace(
        result,
        lines=[*result.lines, *(_whole(line, items[line["item"]]) for line in besides.lines)],
        snapshot=sparing.told_in(result.snapshot, besides),
    )
    return whole, items


def _whole(line: Mapping[str, Any], item: Item) -> dict[str, Any]:
    """A spare's line with all that a line of the engine has."""
    told = {"name": item.name, "tracking": item.tracking, "pieces": [], "alternatives": []}
    return {**told, **line}


def rows_of(kit: Kit, result: snapshot.WorkedOut, items: Mapping[str, Item]) -> list[KitLine]:
    """Return the rows of a kit's lines, in its order. items: by code, each that a line names."""
    return [
        KitLine(
            kit=kit,
            item=items[line["item"]],
            quantity=line["quantity"],
            unit=line["unit"],
            step=line["step"],
            order=order,
            reasons=line["reasons"],
            pieces=line["pieces"],
            alternatives=line["alternatives"],
            spare=line["step"] == sparing.STEP,
        )
        for order, line in enumerate(result.lines)
    ]


def follow(kit: Kit, result: snapshot.WorkedOut) -> None:
    """Lines, snapshot and the job's configuration become those of a change; picks stay."""
    items = {item.code: item for item in Item.objects.filter(code__in=result.items())}
    kit.lines.all().delete()
    KitLine.objects.bulk_create(rows_of(kit, result, items))
    kit.snapshot = result.snapshot
    kit.save(update_fields=["snapshot"])
    Job.objects.filter(pk=kit.job_id).update(configuration=result.snapshot["configuration"])


def release(kit: Kit, by: Person, now: datetime | None = None) -> list[Short]:
    """Hand a kit to the warehouse with parcels and bags of its own; return what is short.

    Raises Refused with every reason.
    """
    with writing():
        # Looked at under the lock: two people may release at once.
        kit.refresh_from_db()
        reasons = _release_faults(kit)
        if reasons:
            raise Refused(reasons)
        dock = Place.objects.filter(kind=PlaceKind.DOCK).order_by("order", "code").first()
        van = kit.job.van
        assert dock is not None, "checked above"
        assert van is not None, "checked above"
        kit.released_at, kit.released_by = now or timezone.now(), by
        kit.letter = box_letters.next_letter()
        kit.save(update_fields=["released_at", "released_by", "letter"])
        _make_packages(kit, dock, van)
    return sourcing.shortages(kit)


def _release_faults(kit: Kit) -> list[Reason]:
    job, reasons = kit.job, []
    latest = job.kit
    if latest is None or latest.pk != kit.pk:
        reasons.append(Reason("kit", f"{kit.code} was worked out again since"))
    if kit.released_at is not None:
        reasons.append(Reason("kit", f"{kit.code} is released already"))
    if job.cancelled_at is not None:
        reasons.append(Reason("job", f"{job.code} is cancelled"))
    if job.van is None:
        reasons.append(Reason("van", f"Name a van for {job.code} first"))
    if not job.crew.exists():
        reasons.append(Reason("crew", f"Name the crew of {job.code} first"))
    if not Place.objects.filter(kind=PlaceKind.DOCK).exists():
        reasons.append(Reason("dock", "Enter a dock of the depot first: kits are packed there"))
    return [*reasons, *_open_faults(kit)]


def _open_faults(kit: Kit) -> list[Reason]:
    """What a person has to answer, and what a person has to check and sign, each by its rule."""
    asked = [
        Reason("open question", f"Answer first: {snapshot.question(entry)}")
        for entry in signing.asked(kit)
    ]
    return asked + [Reason("check", f"Sign first: {words}") for words in signing.unsigned(kit)]


def _make_packages(kit: Kit, dock: Place, van: Place) -> None:
    lines = list(kit.lines.select_related("item"))
    _package(kit, Package.Kind.BAY, PlaceKind.BAY, f"Bay at {dock.name}", dock)
    _package(kit, Package.Kind.LOAD, PlaceKind.BAY, f"Loaded on {van.name}", van)
    if any(in_a_bag(line.item) for line in lines):
        make_bags(kit, _package(kit, Package.Kind.PARCEL, PlaceKind.PARCEL, "Parcel 1", dock))


def another_parcel(kit: Kit, full: Place) -> Place:
    """Give the kit one parcel more, where the full one stands."""
    assert full.parent is not None, "a parcel stands somewhere"
    number = kit.packages.filter(kind=Package.Kind.PARCEL).count() + 1
    name = f"Parcel {number}"
    return _package(kit, Package.Kind.PARCEL, PlaceKind.PARCEL, name, full.parent, number=number)


def make_bags(kit: Kit, where: Place) -> None:
    """Give each step with small parts a bag of its own in `where`, those that have none yet."""
    lines = list(kit.lines.select_related("item"))
    steps = list(dict.fromkeys(line.step for line in lines))
    bagged = [s for s in steps if any(line.step == s and in_a_bag(line.item) for line in lines)]
    known = dict(kit.packages.filter(kind=Package.Kind.BAG).values_list("step", "number"))
    titles = snapshot.step_titles(kit)
    lacking = [step for step in bagged if step not in known]
    for number, step in enumerate(lacking, max(known.values(), default=0) + 1):
        name = f"Bag {number}: {titles.get(step, step)}"
        _package(kit, Package.Kind.BAG, PlaceKind.BAG, name, where, step, number)


def _package(
    kit: Kit, kind: str, place_kind: str, name: str, parent: Place, step: str = "", number: int = 1
) -> Place:
    # No job code in the name: it is shown to whoever scans the label, crew or not.
    place = make(place_kind, name, parent=parent, subject=kit.subject)
    Package.objects.create(kit=kit, place=place, kind=kind, step=step, number=number)
    return place


def in_a_bag(item: Item) -> bool:
    """Whether it travels in the bag of its step; units, tools and long things stand in the bay."""
    small = item.tracking in (Tracking.COUNT, Tracking.LOT, Tracking.SUPPLY)
    return small and item.unit in ("piece", "ul") and item.mass_g < HEAVY_G


def goes_with(kit: Kit, van: Place, *, besides: bool = False) -> None:
    """Give a kit its place on a van. An empty one moves there; what holds something stays where it
    is until each thing is scanned over. besides: the kit goes with other vans, too."""
    loads = kit.packages.filter(kind=Package.Kind.LOAD).select_related("place").order_by("number")
    places = [load.place for load in loads]
    if any(place.parent_id == van.pk for place in places):
        return
    split = set(kit.packages.exclude(van=None).values_list("van", flat=True))
    free = [p for p in places if p.parent_id not in split and not holds_something(p)]
    if free and not besides:
        stand(free[0], van, f"Loaded on {van.name}")
        return
    number = max(load.number for load in loads) + 1
    _package(kit, Package.Kind.LOAD, PlaceKind.BAY, f"Loaded on {van.name}", van, number=number)


def close(kit: Kit, event: Event) -> None:
    """Close a kit for an event; acts look first whether anything of it is left."""
    kit.closed_by = event
    kit.save(update_fields=["closed_by"])


def reopen(kit: Kit) -> None:
    """Open a kit again whose closing was undone."""
    kit.closed_by = None
    kit.save(update_fields=["closed_by"])
