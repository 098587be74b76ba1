"""Where each thing goes when a plan changes: parcels, boxes, the van's own stock and its tools."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.models import Holding, Place, PlaceKind, Tracking, Unit
from inventory.queries import within
from inventory.words import amount
from kitting.models import Job, Kit, Package
from kitting.travelling import loads_of, vans_of

SHELF = "back to the shelf"


@dataclass(frozen=True, slots=True)
class Destination:
    """One thing, where it is and where it goes."""

    what: str
    code: str  # what its label says, "" where its own code is scanned
    at: str
    to: str
    done: bool  # it is there


@dataclass(frozen=True, slots=True)
class Own:
    """What a van carries of its own: its tools, or its stock."""

    kind: str  # tools or stock
    words: tuple[str, ...]  # each thing


def own_van(kit: Kit, place: Place | None) -> Place | None:
    """Return the van that a parcel goes with: the job's unless the kit was split."""
    around = [one.pk for one in place.way_up()] if place else []
    split = Package.objects.filter(kit=kit, van__isnull=False, place__in=around)
    package = split.select_related("van").first()
    return package.van if package else kit.job.van


def of_kit(kit: Kit, today: date) -> list[Destination]:
    """Return each parcel, box and loose thing of a kit with its destination; what waits first."""
    if kit.released_at is None:
        return []
    split = dict(Package.objects.filter(kit=kit, van__isnull=False).values_list("place", "van"))
    vans = {van.pk: van for van in vans_of(kit)}
    found = []
    for load in loads_of(kit):
        own = next((split[p.pk] for p in load.place.way_up() if p.pk in split), kit.job.van_id)
        to, done = _to(kit.job, load.place, vans.get(own or 0), today)
        found.append(Destination(load.name, load.code, _at(load.place), to, done))
    return sorted(found, key=lambda one: one.done)


def _at(place: Place) -> str:
    around = place.within(PlaceKind.VAN, PlaceKind.SITE)
    if around is not None:
        return "the site" if around.kind == PlaceKind.SITE else around.name
    inside = (PlaceKind.PARCEL, PlaceKind.CARTON, PlaceKind.BAG)
    return next((one.name for one in place.way_up() if one.kind not in inside), place.name)


def _to(job: Job, place: Place, van: Place | None, today: date) -> tuple[str, bool]:
    """Its destination, and whether it is there."""
    now = place.within(PlaceKind.VAN, PlaceKind.SITE)
    if now is not None and now.kind == PlaceKind.SITE:
        return "stays at the site", True
    if job.cancelled_at is not None:
        return SHELF, False
    if now is None:
        waits = job.date > today
        where = f"stays at {_at(place)} until {job.date:%a %-d %b}"
        return (where, True) if waits or van is None else (van.name, False)
    if van is not None and now.pk != van.pk:
        return van.name, False
    if job.date > today and goes_out_before(now, job, today):
        return f"off {now.name}, which goes out before {job.date:%a %-d %b}", False
    return f"stays on {now.name}", True


def goes_out_before(van: Place, job: Job, today: date) -> bool:
    """Whether a van goes out for another job between today and a job's day."""
    others = Job.objects.filter(van=van, cancelled_at=None, date__gte=today, date__lt=job.date)
    return others.exclude(pk=job.pk).exclude(kits__closed_by__isnull=False).exists()


def own_of(van: Place) -> list[Own]:
    """Return the tools and the stock that a van carries of its own: in no kit's place."""
    units, holdings = standing_in(van)
    tools = [str(unit) for unit in units if unit.item.tracking == Tracking.TOOL]
    stock = [str(unit) for unit in units if unit.item.tracking != Tracking.TOOL]
    for holding in holdings:
        item = holding.lot.item
        words = amount(holding.quantity, item)
        (tools if item.tracking == Tracking.TOOL else stock).append(words)
    return [Own(kind, tuple(some)) for kind, some in (("tools", tools), ("stock", stock)) if some]


def standing_in(van: Place) -> tuple[list[Unit], list[Holding]]:
    """Return the single things and the quantities in a van that are in no kit's place."""
    inside = Place.objects.filter(pk__in=[place.pk for place in within([van])])
    ours = [
        place.pk
        for place in inside.select_related("parent__parent__parent")
        if not any(around.subject for around in place.way_up())
    ]
    units = Unit.objects.filter(place__in=ours).select_related("item", "lot", "place")
    held = Holding.objects.filter(place__in=ours, quantity__gt=0)
    held = held.exclude(lot__item__tracking=Tracking.SERIAL).select_related("lot__item", "place")
    return list(units.order_by("item__code", "pk")), list(held.order_by("lot__item__code", "pk"))
