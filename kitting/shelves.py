"""Where things may be taken from: what goes along with a van or a person, the shelves, a kit's own
places."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q
from django.utils import timezone

from inventory import charging
from inventory.ledger.steps import Standing
from inventory.models import Hold, Holding, Item, Kept, Lot, Place, PlaceKind, Tracking, Unit
from inventory.models.places import OUTSIDE
from inventory.queries import standing
from inventory.rows import Among, Question, Slot
from kitting.models import Job, Kit

AWAY = (PlaceKind.STACK, PlaceKind.SITE, *OUTSIDE)  # most of what there ever was: not looked at
UP = "place__parent__parent__parent__parent"  # a place with everything it stands in
OF_OWNER = "'s bag"  # how the name of a person's own bag ends
OWNER = "person:"  # how the subject of a person's own bag begins; the person's uid follows
_HELD = Question(
    lambda: (
        Holding.objects.filter(lot__item__in=Among(Lot, "item"), quantity__gt=0, outside=False)
        .exclude(lot__item__tracking=Tracking.SERIAL)
        .exclude(place__kind__in=AWAY)
        .select_related("lot__item", UP)
    )
)
_SINGLE = Question(
    lambda: (
        Unit.objects.filter(item__in=Among(Unit, "item"), item__tracking=Tracking.SERIAL)
        .exclude(place=None)
        .exclude(place__kind__in=AWAY)
        .select_related("item", "lot__item", UP)
    )
)
_ASIDE = Question(
    lambda: Hold.objects.filter(release=None).values_list("lot_id", "place_id", "unit_id")
)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where some of an item stands and may be taken from."""

    place: Place
    lot: Lot
    quantity: int  # base units
    unit: Unit | None = None  # for a thing with a serial: a suggestion, any other counts as well
    due: date | None = None  # when the unit has to be charged; None: no rule, or nobody knows
    note: str = ""  # what to look at before it is taken

    def expired(self, day: date) -> bool:
        """Whether its batch keeps no longer than before this day."""
        return self.lot.expires_on is not None and self.lot.expires_on < day


def in_its_places(kit: Kit, path: str = "") -> Q:
    """Restrict rows to the places a kit travels in and the boxes in them; `path` leads to them."""
    return in_places_of(kit.subject, path)


def in_places_of(subject: str | Slot, path: str = "") -> Q:
    """Restrict rows to the places of what has this subject, and the boxes in them."""
    return Q((f"{path}subject", subject)) | Q((f"{path}parent__subject", subject))


def is_own_bag(place: Place) -> bool:
    """Whether it is the bag that a person takes along to every job."""
    return place.subject.startswith(OWNER)


def owner_of(bag: Place) -> str:
    """Return the name of the person whose own bag this is, as it was called."""
    return bag.name.removesuffix(OF_OWNER)


def carrier(place: Place) -> Place | None:
    """Return the van a place is on, or the own bag that it is; None for what stays here."""
    return place if is_own_bag(place) else place.within(PlaceKind.VAN)


def going_with(jobs: Iterable[Job], places: Iterable[Place]) -> dict[int, set[int]]:
    """Return job id -> ids of what comes along to it: its van, those of these places that are own
    bags of its crew. At most one question."""
    found = {job.pk: set() if job.van_id is None else {job.van_id} for job in jobs}
    bags = {place.pk for place in places if is_own_bag(place)}
    if bags:
        crews = Job.crew.through.objects.filter(job__in=found, person__own_bag__place__in=bags)
        for job, bag in crews.values_list("job", "person__own_bag__place"):
            found[job].add(bag)
    return found


def carried_by(van: Place, items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what of it a van or an own bag always carries, in no kit's parcel."""
    return _by_item(spot for spot in _along(items) if _of(spot, {van.pk}))


def with_the_crew(kit: Kit, items: Iterable[int], *, serials: bool = True) -> dict[int, list[Spot]]:
    """Return item id -> what goes along besides the kit: in the crew's own bags, then on its van.

    serials: whether any of these items is followed by serial.
    """
    spots = _along(items, serials=serials)
    coming = going_with([kit.job], [spot.place for spot in spots])[kit.job_id]
    return _nearest_first(spot for spot in spots if _of(spot, coming))


def with_each_crew(
    kits: Sequence[Kit], items: Sequence[Collection[int]]
) -> list[dict[int, list[Spot]]]:
    """Return the same for each kit and its items, none of them followed by serial, by one look."""
    spots = _along({item for some in items for item in some}, serials=False)
    going = going_with([kit.job for kit in kits], [spot.place for spot in spots])
    return [
        _nearest_first(
            spot for spot in spots if spot.lot.item_id in some and _of(spot, going[kit.job_id])
        )
        for kit, some in zip(kits, items, strict=True)
    ]


def _nearest_first(spots: Iterable[Spot]) -> dict[int, list[Spot]]:
    # What a person has in the bag is nearer than what lies on the van.
    return _by_item(sorted(spots, key=lambda spot: not is_own_bag(spot.place)))


def carried_along(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what of it any van or own bag always carries, in no kit's parcel."""
    return _by_item(_along(items))


def _along(items: Iterable[int], *, serials: bool = True) -> list[Spot]:
    return _spots(items, Standing.VAN, serials=serials)


def _of(spot: Spot, carriers: Collection[int]) -> bool:
    around = carrier(spot.place)
    return around is not None and around.pk in carriers


def _by_item(spots: Iterable[Spot]) -> dict[int, list[Spot]]:
    found: dict[int, list[Spot]] = defaultdict(list)
    for spot in spots:
        found[spot.lot.item_id].append(spot)
    return found


def on_shelves(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> spots on our shelves: first expired first, then in walking order."""
    return _by_item(_spots(items, Standing.SHELF))


def along_and_on_shelves(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what vans and own bags always carry and what is on our shelves, by one
    look."""
    return _by_item(_spots(items, Standing.VAN, Standing.SHELF))


def standing_on_shelves(item: Item) -> list[Spot]:
    """Return the single things of an item on our shelves, those that may not go out with them."""
    units = Unit.objects.filter(item=item).exclude(place=None).exclude(place__kind__in=AWAY)
    spots = [
        Spot(unit.place, unit.lot, 1, unit)
        for unit in units.select_related("item", "lot__item", UP)
        if unit.place is not None and standing(unit.place) is Standing.SHELF
    ]
    return sorted(spots, key=_order_of_taking)


def _spots(items: Iterable[int], *where: Standing, serials: bool = True) -> list[Spot]:
    """Every spot of these items that stands so and is not set aside, in the order of taking."""
    wanted = list(items)
    return _usable([*_held(wanted), *(_single(wanted) if serials else ())], *where)


def _held(wanted: list[int]) -> list[Spot]:
    """Where these items lie by number."""
    found = _HELD.ask(item=wanted)
    return [Spot(holding.place, holding.lot, holding.quantity) for holding in found]


def _single(wanted: list[int]) -> list[Spot]:
    """Where single things of these items stand; none that has to be charged before it goes out."""
    found = _SINGLE.ask(item=wanted)
    today = timezone.now().date()
    states = {state.unit.pk: state for state in charging.states(found, today)}
    return [
        Spot(unit.place, unit.lot, 1, unit, states[unit.pk].due if unit.pk in states else None)
        for unit in found
        if unit.place is not None and not (unit.pk in states and states[unit.pk].stops(today))
    ]


def _usable(spots: list[Spot], *where: Standing) -> list[Spot]:
    """Those that stand so and are not set aside, in the order of taking."""
    if not spots:
        return []
    lots, places, units = _set_aside()
    usable = [
        spot
        for spot in spots
        if spot.lot.pk not in lots
        and not (spot.unit and spot.unit.pk in units)
        and places.isdisjoint(place.pk for place in spot.place.way_up())
        and _stands(spot.place) in where
        # What came back, or stands apart, is no stock before somebody has looked at it.
        and not any(place.outside or place.purpose for place in spot.place.way_up())
    ]
    return sorted(usable, key=_order_of_taking)


def _stands(place: Place) -> Standing:
    """Where it stands for the firm; an own bag goes along as what is loose on a van does."""
    return Standing.VAN if is_own_bag(place) else standing(place)


def _set_aside() -> tuple[set[int], set[int], set[int]]:
    """Ids of the batches, places and units with an open hold."""
    aside: tuple[set[int], set[int], set[int]] = (set(), set(), set())
    for ids in _ASIDE.tuples():
        for found, pk in zip(aside, ids, strict=True):
            if pk is not None:
                found.add(pk)
    return aside


def _order_of_taking(spot: Spot) -> tuple[bool, bool, str, int, bool, int, str, str]:
    # A bag made ahead is taken whole or, when nothing loose is left, opened.
    bagged = spot.place.kind == PlaceKind.BAG
    # Of things with a serial what is due first; without a rule, what was charged first.
    expires = spot.due or spot.unit.last_charged if spot.unit else spot.lot.expires_on
    shelf = next((p for p in spot.place.way_up() if p.kind == PlaceKind.BIN), spot.place)
    serial = spot.unit.serial_key if spot.unit else spot.lot.key
    # A cable is one piece, never a sum of remnants: the longest piece is looked at first.
    longest = -spot.quantity if spot.lot.item.unit == "mm" else 0
    unopened = spot.lot.parent_id is None
    due = expires is None, str(expires)
    return (bagged, *due, longest, unopened, shelf.order, shelf.code, serial)


def stock_in(
    places: Sequence[Place], item: Item | None = None, first: Lot | None = None
) -> list[Holding]:
    """Return what is held by number in these places, in their order, first expired first.

    Things with a serial are left out: they are moved one by one. first: the batch whose label was
    scanned, before all others.
    """
    order = {place.pk: number for number, place in enumerate(places)}
    held = Holding.objects.filter(place__in=order, quantity__gt=0)
    held = held.exclude(lot__item__tracking=Tracking.SERIAL)
    if item is not None:
        held = held.filter(lot__item=item)
    return sorted(
        held.select_related("place", "lot__item"),
        key=lambda h: (
            first is not None and h.lot_id != first.pk,
            order[h.place_id],
            h.lot.expires_on is None,
            str(h.lot.expires_on),
            h.lot.item.code,
            h.lot.key,
        ),
    )


def proposed_place(item: Item) -> Place | None:
    """Return the first place to take this item from, None if the book knows none."""
    spots = _single([item.pk]) if item.tracking == Tracking.SERIAL else _held([item.pk])
    usable = _usable(spots, Standing.SHELF)
    return usable[0].place if usable else None


def usual_shelves(items: Iterable[int]) -> dict[int, Place]:
    """Return item id -> the shelf it is kept on: where some lies now, else where it was counted."""
    wanted = list(items)
    kept = Kept.objects.filter(item__in=wanted, place__kind=PlaceKind.BIN, place__purpose="")
    found = {one.item_id: one.place for one in kept.select_related("place").order_by("-pk")}
    for item, spots in on_shelves(wanted).items():
        shelf = spots[0].place.within(PlaceKind.BIN)
        if shelf is not None:
            found[item] = shelf
    return found
