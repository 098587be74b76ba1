"""What somebody looks for at a site: where it travels, who packed it, what waits for it, who has
one. Asked for the whole kit at once: the page is kept on the phone for the hours without signal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Q

from inventory.models import (
    ContainerMove,
    Finding,
    Holding,
    Item,
    Movement,
    Place,
    PlaceKind,
    Tracking,
    Unit,
)
from inventory.words import amount
from kitting import netting, shelves, whereabouts
from kitting.asked_for import Asked, of_kit
from kitting.models import Job, Kit, OwnBag, Package
from kitting.netting import Brought
from kitting.progress import fold
from kitting.queries import Left, left_of
from kitting.snapshot import step_titles
from kitting.tallies import Progress, Total
from kitting.whereabouts import Lies

PACKING = ("pick", "take_over", "load")
AT_SITE = (PlaceKind.SITE, PlaceKind.STACK)


@dataclass(frozen=True, slots=True)
class Handled:
    """Who packed or loaded it, and when."""

    step: str  # of PACKING
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Travels:
    """One place where it should be."""

    place: Place | None  # None: in the box of another thing that is nowhere yet
    words: str  # "4 brackets", "in the box of power unit"
    lies: Lies
    handled: tuple[Handled, ...] = ()
    box_of: Item | None = None  # in whose box it lies


@dataclass(frozen=True, slots=True)
class Has:
    """Who else has some of it."""

    words: str
    quantity: int  # base units
    call: tuple[tuple[str, str], ...] = ()  # name and number of those who ride in that van


@dataclass(slots=True)
class Sought:
    """One thing that may be looked for."""

    key: str  # names it within the page
    text: str  # what is sent as if it had been scanned
    words: str  # "12 bolt M6"
    item: Item | None
    quantity: int | None  # base units told as missing; None: all of it
    travels: list[Travels] = field(default_factory=list)
    needed_for: tuple[str, ...] = ()  # titles of steps, in the order of the job
    before: tuple[str, ...] = ()  # titles of the steps that come before the first of these
    spare: int = 0  # base units that the kit has beyond the plan
    has: tuple[Has, ...] = ()
    asked: Asked | None = None  # what the depot was asked for already
    missing: bool = False  # told as missing, and not found


def sought(kit: Kit) -> list[Sought]:
    """Return all of a kit that is not fitted, used or seen yet, bags first; then each thing."""
    progress, left = fold(kit), left_of(kit)
    to_find = [one for one in left if one.place.within(*AT_SITE) is None or _unopened(one.place)]
    brought = netting.told(kit)
    about = _About(kit, progress, brought)
    bags = [about.bag(package, to_find) for package in _bags(kit)]
    units = [about.unit(one, one.unit) for one in to_find if one.unit is not None]
    small = [
        about.small(total, [one for one in to_find if one.item.pk == total.item.pk])
        for total in progress.totals.values()
        if total.item.tracking != Tracking.SERIAL
    ]
    return [one for one in (*bags, *units, *small) if one is not None]


def travels_of(kit: Kit) -> dict[str, list[Travels]]:
    """Return item code -> where it travels what of it nobody has seen at the site, each once."""
    found: dict[str, list[Travels]] = {}
    for one in sought(kit):
        if one.item is not None:
            spots = found.setdefault(one.item.code, [])
            spots += [spot for spot in one.travels if spot not in spots]
    return found


def _unopened(place: Place) -> bool:
    return place.kind == PlaceKind.PARCEL or (
        place.parent is not None and place.parent.kind == PlaceKind.PARCEL
    )


def _bags(kit: Kit) -> Iterable[Package]:
    wanted = kit.packages.filter(kind__in=(Package.Kind.PARCEL, Package.Kind.BAG))
    return wanted.select_related("place__parent__parent__parent").order_by("kind", "number")


class _About:
    """What is known of a kit, asked once for all of its things."""

    def __init__(self, kit: Kit, progress: Progress, brought: Sequence[Brought]) -> None:
        self.kit = kit
        self.brought = {row.content.item_id: row for row in brought}
        self.titles = step_titles(kit)
        self.steps = _steps_of(progress)
        ids = [total.item.pk for total in progress.totals.values()]
        self.lies = whereabouts.told(kit, ids)
        self.handled = _handled(kit)
        self.has = _who_has(kit, ids)
        self.asked = [one for one in of_kit(kit) if not one.over]
        missing = Finding.objects.filter(subject=kit.subject, kind="missing", answer=None)
        self.lost = list(missing.values_list("unit_id", "item_id", "place_id"))
        self.boxes = _boxes(kit, {row.content.box_of_id for row in brought})

    def bag(self, package: Package, left: Sequence[Left]) -> Sought | None:
        """A bag or parcel with something in it that nobody has seen."""
        place = package.place
        inside = [one for one in left if any(p.pk == place.pk for p in one.place.way_up())]
        lost = any(pk == place.pk for _, _, pk in self.lost)
        if not (inside or lost):
            return None
        one = Sought(f"p{place.pk}", place.code, place.name, None, None)
        told = f"{len(inside)} things in it" if len(inside) != 1 else "1 thing in it"
        one.travels = [Travels(place.parent, told, Lies(), self._hands(place, None, None))]
        self._wait(one, {item.item.pk for item in inside})
        one.asked = next((q for q in self.asked if q.request.place_id == place.pk), None)
        one.missing = lost
        return one

    def unit(self, left: Left, unit: Unit) -> Sought:
        """A thing with a serial."""
        one = Sought(f"u{unit.pk}", unit.serial, str(unit), unit.item, None)
        lies = self.lies.get((unit.item_id, 0), Lies())
        hands = self._hands(left.place, None, unit)
        one.travels = [Travels(left.place, "", lies, hands)]
        self._wait(one, {unit.item_id})
        one.has = self.has.get(unit.item_id, ())
        one.asked = next((q for q in self.asked if q.request.unit_id == unit.pk), None)
        return one

    def small(self, total: Total, here: Sequence[Left]) -> Sought | None:
        """An item by number: in the kit's parcels, in the box of another thing, on the van."""
        item = total.item
        lost = any(pk == item.pk and unit is None for unit, pk, _ in self.lost)
        boxed = max(total.in_boxes - total.out_of_boxes, 0)
        if not (here or boxed or lost or (total.on_van and not total.done)):
            return None
        quantity = sum(one.quantity for one in here) + boxed
        one = Sought(f"i{item.pk}", item.code, amount(quantity or total.needed, item), item, None)
        one.quantity = quantity or None
        lies = self.lies.get((item.pk, 0), Lies())
        one.travels = [
            Travels(
                left.place, amount(left.quantity, item), lies, self._hands(left.place, item, None)
            )
            for left in here
        ]
        if boxed and item.pk in self.brought:
            one.travels.append(self._in_box(item, self.brought[item.pk], boxed))
        if total.on_van:
            own = [spot.place for spot in total.carried if shelves.is_own_bag(spot.place)]
            bags = {bag.pk: bag for bag in own}
            for bag in bags.values():
                words = f"{shelves.owner_of(bag)} always has it along"
                one.travels.append(Travels(bag, words, lies))
            if len(own) < len(total.carried) or not own:
                one.travels.append(Travels(self.kit.job.van, "on the van's own shelf", lies))
        self._wait(one, {item.pk})
        one.spare, one.missing = total.spare, lost
        one.has = self.has.get(item.pk, ())
        same = (q for q in self.asked if q.request.item_id == item.pk)
        one.asked = next((q for q in same if q.request.unit_id is None), None)
        return one

    def _in_box(self, item: Item, row: Brought, quantity: int) -> Travels:
        box_of = row.content.box_of
        told = f"{amount(quantity, item)} in the box of {box_of.name}"
        lies = self.lies.get((item.pk, box_of.pk), Lies())
        place = self.boxes.get(box_of.pk)
        hands = self._hands(place, None, None) if place is not None else ()
        return Travels(place, told, lies, hands, box_of)

    def _hands(self, place: Place, item: Item | None, unit: Unit | None) -> tuple[Handled, ...]:
        """Who packed it first; a box or bag that was moved whole counts for what is in it."""
        keys: list[tuple[str, int]] = [("unit", unit.pk)] if unit else []
        keys += [("place", around.pk) for around in place.way_up()]
        if item is not None:
            keys.insert(0, (f"item {place.pk}", item.pk))
        found: dict[str, Handled] = {}
        for key in keys:
            for step, one in self.handled.get(key, {}).items():
                found.setdefault("load" if step == "load" else "pick", one)
        return tuple(found[step] for step in ("pick", "load") if step in found)

    def _wait(self, one: Sought, items: set[int]) -> None:
        """Which steps need these items, and which come before the first of them."""
        needing = [step for step in self.titles if items & self.steps.get(step, set())]
        order = list(self.titles)
        one.needed_for = tuple(self.titles[step] for step in needing)
        first = order.index(needing[0]) if needing else 0
        one.before = tuple(self.titles[step] for step in order[:first])


def _steps_of(progress: Progress) -> dict[str, set[int]]:
    found: dict[str, set[int]] = defaultdict(set)
    for row in progress.lines:
        if not row.line.spare:
            found[row.line.step].add(row.line.item_id)
    return found


def _handled(kit: Kit) -> dict[tuple[str, int], dict[str, Handled]]:
    """Unit, item at a place, or place moved whole -> step -> who did it last."""
    found: dict[tuple[str, int], dict[str, Handled]] = defaultdict(dict)
    about = Q(event__subject=kit.subject, event__step__in=PACKING, event__reversed_by=None)
    moves = Movement.objects.filter(about).select_related("event__person", "lot")
    for move in moves.order_by("pk"):
        one = Handled(move.event.step, move.event.person.name, move.event.received_at)
        if move.unit_id is not None:
            found["unit", move.unit_id][one.step] = one
        else:
            found[f"item {move.to_place_id}", move.lot.item_id][one.step] = one
        if one.step != "load":
            found["place", move.to_place_id][one.step] = one  # who put something in it last
    whole = ContainerMove.objects.filter(about).select_related("event__person")
    for box in whole.order_by("pk"):
        one = Handled(box.event.step, box.event.person.name, box.event.received_at)
        found["place", box.place_id][one.step] = one
    return found


def _boxes(kit: Kit, items: set[int]) -> dict[int, Place]:
    """Item id -> where a box of it stands in this kit."""
    units = Unit.objects.filter(shelves.in_its_places(kit, "place__"), item__in=items)
    found = {unit.item_id: unit.place for unit in units.select_related(shelves.UP)}
    held = Holding.objects.filter(
        shelves.in_its_places(kit, "place__"), lot__item__in=items, quantity__gt=0
    )
    for holding in held.select_related("lot", shelves.UP):
        found.setdefault(holding.lot.item_id, holding.place)
    return {item: place for item, place in found.items() if place is not None}


def _who_has(kit: Kit, items: Sequence[int]) -> dict[int, tuple[Has, ...]]:
    """Own bags and van, other vans and bags, other kits by a lead's yes, the depot's shelves."""
    found: dict[int, list[Has]] = defaultdict(list)
    lying = shelves.along_and_on_shelves(items)
    spots_of_all = [spot for spots in lying.values() for spot in spots]
    bags = {spot.place.pk for spot in spots_of_all if shelves.is_own_bag(spot.place)}
    call = _whom_to_call(kit, bags)
    ours = shelves.going_with([kit.job], [spot.place for spot in spots_of_all])[kit.job_id]
    shelved: dict[int, int] = {}
    for item, spots in lying.items():
        along: dict[Place, int] = {}
        for spot in spots:
            around = shelves.carrier(spot.place)
            if around is not None:
                along[around] = along.get(around, 0) + spot.quantity
            else:
                shelved[item] = shelved.get(item, 0) + spot.quantity
        # What a person has in the bag is nearer than what lies on the van.
        order = sorted(along, key=lambda one: (one.pk not in ours, not shelves.is_own_bag(one)))
        found[item] = [
            Has(
                _along(one, one.pk in ours),
                along[one],
                () if one.pk in ours else call.get(one.pk, ()),
            )
            for one in order
        ]
    for item, quantity in _packed_for_others(kit, items).items():
        found[item].append(Has("packed for other jobs: a lead has to say yes", quantity))
    for item, quantity in shelved.items():
        found[item].append(Has("on the shelf at the depot", quantity))
    return {item: tuple(some) for item, some in found.items()}


def _along(place: Place, ours: bool) -> str:
    """How a van or an own bag is called on the phone."""
    if shelves.is_own_bag(place):
        return f"in {place.name}" + (", with your crew: scan it on the page Unbox" if ours else "")
    return f"{place.name}, your own: scan it on the page Unbox" if ours else place.name


def _whom_to_call(kit: Kit, bags: set[int]) -> dict[int, tuple[tuple[str, str], ...]]:
    """Id of a van -> who rides in it on the day of this job, with their numbers, own jobs left out;
    of one of these bags -> whose it is."""
    jobs = Job.objects.filter(date=kit.job.date, cancelled_at=None).exclude(van=kit.job.van_id)
    found: dict[int, dict[str, str]] = defaultdict(dict)
    for van, name, phone in jobs.values_list("van", "crew__name", "crew__phone"):
        if van is not None and name:
            found[van][name] = phone
    owners = OwnBag.objects.filter(place__in=bags) if bags else OwnBag.objects.none()
    for bag, name, phone in owners.values_list("place", "person__name", "person__phone"):
        found[bag][name] = phone
    return {place: tuple(sorted(people.items())) for place, people in found.items()}


def _packed_for_others(kit: Kit, items: Sequence[int]) -> dict[int, int]:
    """Item id -> base units in other open kits; whose they are is not said."""
    others = Kit.objects.filter(released_at__isnull=False, closed_by=None).exclude(pk=kit.pk)
    subjects = [other.subject for other in others.only("code")]
    held = Holding.objects.filter(
        Q(place__subject__in=subjects) | Q(place__parent__subject__in=subjects),
        lot__item__in=items,
        quantity__gt=0,
        outside=False,
    )
    found: dict[int, int] = defaultdict(int)
    for item, quantity in held.values_list("lot__item", "quantity"):
        found[item] += quantity
    return found
