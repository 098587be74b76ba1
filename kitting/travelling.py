"""What a kit travels in, as pages list it: parcels, bags, boxes, and what is in each."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from django.db.models import Exists, F, OuterRef, Q
from django.db.models.functions import Coalesce

from inventory.models import Holding, Item, Place, PlaceKind, Tracking, Unit
from inventory.models.places import moves
from kitting.models import Kit, Package, Survey
from kitting.progress import taken_down
from kitting.queries import Left, left_of, stands_at
from kitting.snapshot import positions


@dataclass(frozen=True, slots=True)
class Load:
    """One thing that goes on the van by one scan."""

    name: str
    code: str  # what its label says; "" where the thing's own code is scanned
    inside: int  # things in it
    loaded: bool
    place: Place
    item: Item | None = None  # of what travels in no parcel
    unit: Unit | None = None
    elsewhere: str = ""  # the van it lies in, where it goes with another

    @property
    def waits(self) -> Place | None:
        """The bay, dock or shelf of ours where it stands meanwhile."""
        if self.loaded:
            return None
        return next((one for one in self.place.way_up() if not moves(one.kind, one.subject)), None)


@dataclass(frozen=True, slots=True)
class Group:
    """A parcel, bag or box (or the site itself) with what is in it."""

    place: Place
    seen: bool  # at the site
    loaded: bool  # on the van or at the site
    things: tuple[Left, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """One place in a stack as a person chooses it."""

    value: str  # "2/3": stack 2, place 3
    words: str
    taken: str  # what stands there, "" for nothing


@dataclass(frozen=True, slots=True)
class Choice:
    """Something of a kit that a problem can be about."""

    text: str  # what is sent as if it had been scanned
    words: str
    sort: str  # bag, unit or item


def loads_of(kit: Kit) -> list[Load]:
    """Return the parcels, boxes and loose things of a kit, those not loaded yet first."""
    parcels = Package.objects.filter(kit=kit, kind=Package.Kind.PARCEL).select_related("place")
    things, vans = left_of(kit), {van.pk for van in vans_of(kit)}
    found = []
    for package in parcels.order_by("number"):
        place = package.place
        inside = [one for one in things if any(p.pk == place.pk for p in one.place.way_up())]
        own = {package.van_id or kit.job.van_id}
        found.append(_load(place.name, place.code, len(inside), place, own))
    packed = {package.place_id for package in parcels}
    came_off = taken_down(kit)
    for thing in things:
        # What came off the wall lies at the site, and never was on the van.
        if thing.unit is not None and thing.unit.pk in came_off:
            continue
        if packed.isdisjoint(p.pk for p in thing.place.way_up()):
            boxed = thing.place.kind == PlaceKind.CARTON
            code = thing.place.code if boxed else ""
            one = _load(str(thing), code, 1, thing.place, vans)
            found.append(replace(one, item=thing.item, unit=thing.unit))
    return sorted(found, key=lambda load: load.loaded)


def _load(name: str, code: str, inside: int, place: Place, vans: Collection[int | None]) -> Load:
    """vans: those it may go with."""
    on = place.within(PlaceKind.VAN, PlaceKind.SITE)
    right = on is not None and (on.kind == PlaceKind.SITE or on.pk in vans)
    elsewhere = on.name if on is not None and not right else ""
    return Load(name, code, inside, right, place, elsewhere=elsewhere)


def vans_of(kit: Kit) -> list[Place]:
    """Return the vans that a kit goes with, its job's first."""
    split = Package.objects.filter(kit=kit, van__isnull=False).select_related("van")
    found = [kit.job.van, *(package.van for package in split)]
    return list({van.pk: van for van in found if van is not None}.values())


def in_another_van() -> Exists:
    """Whether something of a job lies in a van that it does not go with: a column of jobs."""
    lying = Package.objects.filter(kit__job=OuterRef("pk"), kit__closed_by=None)
    lying = lying.filter(place__parent__kind=PlaceKind.VAN)
    wrong = ~Q(place__parent=Coalesce(F("van"), F("kit__job__van")))
    here = OuterRef("place")
    held = Holding.objects.filter(place=here, quantity__gt=0)
    full = Q(Exists(held)) | Q(Exists(Unit.objects.filter(place=here)))
    full |= Q(Exists(Place.objects.filter(parent=here)))
    return Exists(lying.filter(wrong, ~Q(kind=Package.Kind.LOAD) | full))


def _gone(place: Place) -> bool:
    return place.within(PlaceKind.VAN, PlaceKind.SITE) is not None


def contents_of(kit: Kit) -> list[Group]:
    """Return what is in each parcel, bag and box of a kit; what was not seen at the site first."""
    groups: dict[int, list[Left]] = {}
    places: dict[int, Place] = {}
    bags = Package.objects.filter(kit=kit, kind=Package.Kind.BAG)
    for package in bags.select_related("place__parent__parent__parent").order_by("number"):
        places[package.place_id] = package.place
        groups[package.place_id] = []
    for thing in left_of(kit):
        places.setdefault(thing.place.pk, thing.place)
        groups.setdefault(thing.place.pk, []).append(thing)
    found = [
        Group(place, _seen(place), _gone(place), tuple(groups[pk]))
        for pk, place in places.items()
        if groups[pk] or _seen(place)
    ]
    return sorted(found, key=lambda group: (group.seen, not group.loaded))


def _seen(place: Place) -> bool:
    """At the site and out of its parcel; a bag in an unopened parcel was not looked at."""
    opened = place.parent is None or place.parent.kind != PlaceKind.PARCEL
    return place.within(PlaceKind.SITE) is not None and opened


def spots_of(kit: Kit) -> list[Spot]:
    """Return the planned places of the stacks, with what stands in each."""
    stands = {(row.stack, row.level): row for row in stands_at(kit.job.site.place)}
    roles = {"unit": "module", "head": "head", "base": "base", "cap": "cap"}
    names = dict(kit.lines.values_list("item__code", "item__name"))
    found = []
    for position in positions(kit):
        row = stands.get((position.stack, position.level))
        name = names.get(position.item, roles.get(position.role, position.role))
        words = f"Stack {position.stack}, place {position.level}: {name}"
        value = f"{position.stack}/{position.level}"
        found.append(Spot(value, words, (row.serial or "not seen") if row else ""))
    return found


@dataclass(frozen=True, slots=True)
class SwapPlace:
    """One place whose unit is swapped."""

    value: str  # "2/3": stack 2, place 3
    words: str
    serial: str  # of what stands there by the record, "" where nobody has seen it
    planned: bool  # named by the plan
    done: bool  # swapped by this job


def swaps_of(kit: Kit) -> list[SwapPlace]:
    """Return the places of a site whose unit can be swapped, those of the plan first."""
    asked = kit.snapshot["configuration"].get("swap", ())
    planned = {(one["stack"], one["level"]) for one in asked}
    rows = [row for row in stands_at(kit.job.site.place) if row.role in ("unit", "head")]
    found = [
        SwapPlace(
            f"{row.stack}/{row.level}",
            f"Stack {row.stack}, place {row.level}: {row.what}",
            row.serial,
            (row.stack, row.level) in planned,
            row.since.step == "swap" and row.since.subject == kit.subject,
        )
        for row in rows
    ]
    return sorted(found, key=lambda place: not place.planned)


def spots_of_survey(survey: Survey) -> list[Spot]:
    """Return the places of a described stack, with what is entered for each."""
    stands = {(row.stack, row.level): row for row in stands_at(survey.site.place)}
    codes = {entry["item"] for entry in survey.positions}
    names = dict(Item.objects.filter(code__in=codes).values_list("code", "name"))
    found = []
    for entry in survey.positions:
        row = stands.get((entry["stack"], entry["level"]))
        name = names.get(entry["item"], entry["item"])
        words = f"Stack {entry['stack']}, place {entry['level']}: {name}"
        taken = (row.serial or "not seen") if row else ""
        found.append(Spot(f"{entry['stack']}/{entry['level']}", words, taken))
    return found


def choices_of(kit: Kit) -> list[Choice]:
    """Return what a problem can be about: bags and parcels, things with serials, other items."""
    packages = kit.packages.filter(kind__in=(Package.Kind.PARCEL, Package.Kind.BAG))
    found = [
        Choice(package.place.code, package.place.name, "bag")
        for package in packages.select_related("place").order_by("kind", "number")
    ]
    found += [
        Choice(thing.unit.serial, str(thing.unit), "unit")
        for thing in left_of(kit)
        if thing.unit is not None
    ]
    items = {line.item.code: line.item for line in kit.lines.select_related("item")}
    found += [
        Choice(code, item.name, "item")
        for code, item in items.items()
        if item.tracking != Tracking.SERIAL
    ]
    return found
