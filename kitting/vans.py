"""A van's papers, and its day: every job that rides on it, judged together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.conf import settings
from django.db.models import Q
from django.utils import timezone

from inventory.amending import amended
from inventory.lock import writing
from inventory.models import Holding, Item, Movement, Person, Place, PlaceKind, Tracking, Unit
from inventory.queries import within
from kitting import families, shelves
from kitting.models import FamilyEdition, Job, Kit, VanFacts
from kitting.plan import van
from kitting.queries import comes_back
from kitting.travelling import loads_of

PER = {"piece": 1, "mm": 1000, "ul": 1_000_000, "mm2": 1_000_000}
"""Base units that an item's mass is of."""
G_PER_KG = 1000


@dataclass(frozen=True, slots=True)
class Ride:
    """One job on a van's day."""

    job: Job
    kit: Kit | None
    load: van.Load


@dataclass(frozen=True, slots=True)
class VanDay:
    """One van on one day."""

    place: Place
    day: date
    facts: VanFacts | None
    rides: tuple[Ride, ...]
    checked: van.Checked


def vans() -> list[Place]:
    """Return every van by name, those of earlier days too."""
    return list(Place.objects.filter(kind=PlaceKind.VAN).order_by("name"))


def enter_papers(place: Place, by: Person, **papers: Any) -> VanFacts:
    """Store what a van's papers say. papers: the fields of VanFacts in kg and mm."""
    with writing():
        rows = VanFacts.objects.filter(place=place)
        amended(by, f"van's papers:{place.code}", rows.values(*papers).first() or {}, papers)
        values = {**papers, "entered_by": by}
        facts, _ = rows.update_or_create(place=place, defaults=values)
    return facts


def day_of(place: Place, day: date, today: date | None = None) -> VanDay:
    """Return a van's jobs of a day with what the rules say to all of them together.

    On today and the van's next day out, what lies in it from before rides along.
    """
    ours = Q(van=place) | Q(kits__packages__van=place)
    jobs = Job.objects.filter(ours, date=day, cancelled_at=None).distinct()
    whole = jobs.select_related("site__place").prefetch_related("crew", "kits__edition")
    rides = tuple(_ride(job, place) for job in whole.order_by("leaves_at", "code"))
    facts = VanFacts.objects.filter(place=place).first()
    basis = van.Basis(settings.ADR_MASS, settings.BATTERY_PACKING_G / G_PER_KG)
    aboard = _aboard(place, day, today or timezone.localdate())
    checked = van.check(_vehicle(facts), [ride.load for ride in rides], basis, aboard)
    return VanDay(place, day, facts, rides, checked)


def _aboard(place: Place, day: date, today: date) -> tuple[van.Piece, ...]:
    """What stands in the van and belongs to no job from today to the day: brought back earlier,
    or a kit that nobody unloaded. Loose parts without a serial are in the fitted mass of the van's
    papers."""
    outings = Job.objects.filter(van=place, date__gt=today, cancelled_at=None).order_by("date")
    soonest = outings.values_list("date", flat=True).first()
    if day != today and day != soonest:
        return ()
    jobs = Job.objects.filter(van=place, date__range=(today, day), cancelled_at=None)
    subjects = {f"kit:{code}" for code in jobs.values_list("kits__code", flat=True)}
    # What such a job took off the wall or did not use is counted with the job.
    moved = Movement.objects.filter(event__subject__in=subjects, unit__isnull=False)
    units = Unit.objects.filter(place__isnull=False).exclude(pk__in=moved.values("unit"))
    standing = [
        unit
        for unit in units.exclude(place__kind__in=shelves.AWAY).select_related("item", shelves.UP)
        if unit.place is not None and place in unit.place.way_up()
    ]
    counts = Counter(unit.item for unit in standing)
    return tuple(
        van.Piece(item.name, count, item.mass_g / G_PER_KG, _battery(item))
        for item, count in sorted(counts.items(), key=lambda pair: pair[0].code)
    )


def _battery(item: Item) -> bool:
    """By every parts list ever loaded; what none of them names counts as one."""
    lists = (families.family_of(edition).items for edition in FamilyEdition.objects.all())
    named = [known[item.code] for known in lists if item.code in known]
    return any(one.battery for one in named) if named else True


def _vehicle(facts: VanFacts | None) -> van.Vehicle | None:
    if facts is None:
        return None
    return van.Vehicle(
        gross=facts.gross_kg,
        ready=facts.ready_kg,
        with_driver=facts.with_driver,
        persons=facts.persons,
        fitted=facts.fitted_kg,
        wheelbase=facts.wheelbase_mm or 0,
        load_at=facts.load_at_mm or 0,
    )


def _ride(job: Job, place: Place) -> Ride:
    kit = max(job.kits.all(), key=lambda one: one.revision, default=None)
    crew = max(1, len(job.crew.all()))
    if kit is None:
        return Ride(job, None, van.Load(job.code, (), crew=crew))
    lines = kit.lines.select_related("item").order_by("order")
    out = _pieces(kit, _shared(kit, place, [(line.item, line.quantity) for line in lines]))
    freed = comes_back(kit)
    back = _pieces(kit, ((one.item, one.quantity) for one in freed if one.item is not None))
    boxes = loads_of(kit) if kit.released_at else []
    present = sum(box.loaded for box in boxes)
    return Ride(job, kit, van.Load(job.code, out, back, len(boxes), present, crew))


def _shared(kit: Kit, place: Place, lines: list[tuple[Item, int]]) -> list[tuple[Item, int]]:
    """What of a kit rides on this van: of a split one its parcels, or what they leave."""
    parcels = kit.packages.filter(van__isnull=False).select_related("place")
    if not parcels:
        return lines
    mine = place.pk == kit.job.van_id
    packed: Counter[Item] = Counter()
    for parcel in parcels:
        if mine or parcel.van_id == place.pk:
            packed += _inside(parcel.place)
    if not mine:
        return list(packed.items())
    left = []
    for item, quantity in lines:
        gone = min(packed[item], quantity)
        packed[item] -= gone
        left.append((item, quantity - gone))
    return [pair for pair in left if pair[1]]


def _inside(place: Place) -> Counter[Item]:
    """Base units of each item in a parcel."""
    found: Counter[Item] = Counter()
    inside = within([place])
    for unit in Unit.objects.filter(place__in=inside).select_related("item"):
        found[unit.item] += 1
    held = Holding.objects.filter(place__in=inside, quantity__gt=0)
    for holding in held.exclude(lot__item__tracking=Tracking.SERIAL).select_related("lot__item"):
        found[holding.lot.item] += holding.quantity
    return found


def _pieces(kit: Kit, things: Iterable[tuple[Item, int]]) -> tuple[van.Piece, ...]:
    """What things weigh; a battery is told by the kit's own edition."""
    known = families.family_of(kit.edition).items
    sums: dict[int, tuple[Item, int]] = {}
    for item, quantity in things:
        sums[item.pk] = (item, sums.get(item.pk, (item, 0))[1] + quantity)
    found = []
    for item, quantity in sums.values():
        battery = item.code in known and known[item.code].battery
        counted = item.unit == "piece"
        kg = item.mass_g / G_PER_KG * (1 if counted else quantity / PER[item.unit])
        count = quantity if counted else 1
        found.append(van.Piece(item.name, count, kg, battery, amount=not counted))
    return tuple(found)
