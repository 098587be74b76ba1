"""The standing list of a van or a person's own bag: what it always carries, with levels.

The only writer of the list. What of it is there are holdings like any other, loose on the van or
in the bag. A bag goes wherever its person goes: it counts for each job that has them in its crew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Count, F, Q, QuerySet, Sum

from inventory import placing
from inventory.lock import writing
from inventory.models import (
    Holding,
    Item,
    Movement,
    Person,
    Place,
    PlaceKind,
    Tracking,
)
from kitting.models import Carried, Job, Kit, KitLine, OwnBag
from kitting.shelves import (
    OF_OWNER,
    OWNER,
    Spot,
    carried_by,
    carrier,
    going_with,
    is_own_bag,
    on_shelves,
    with_the_crew,
)

MOST = 100_000  # base units of one item on a van
USED_UP = (Tracking.COUNT, Tracking.LOT)  # what a job takes of the van; its tools stay there
RECENT = 500  # movements looked back at: a van is filled far more often
TAKEN = ("use", "unbox")  # steps by which a job takes something of what is always carried
LEFT = ("use", "bring_back")  # steps after which a kit wants no more; what is missing it does


class ListError(ValueError):
    """What a van shall carry cannot be as asked; the message says what was expected and came."""


@dataclass(frozen=True, slots=True)
class Level:
    """One item of a van's list beside what is there; every figure in base units."""

    row: Carried
    there: int
    shelf: Spot | None  # where it is brought from first
    used: tuple[tuple[str, int], ...] = ()  # kit, base units: what jobs used since it was filled

    @property
    def is_below(self) -> bool:
        """Whether the place is to be topped up with it."""
        return self.there < self.row.least

    @property
    def to_bring(self) -> int:
        """How many fill it up, 0 where it is not below its least and no job used any."""
        asked = self.is_below or bool(self.used)
        return max(self.row.up_to - self.there, 0) if asked else 0


def bag_of(person: Person) -> Place | None:
    """Return the person's own bag, None for one who has none yet."""
    return Place.objects.filter(own_bag__person=person).first()


def bags_with(van: Place, day: date) -> list[OwnBag]:
    """Return the own bags of those who travel with a van that day."""
    jobs = Job.objects.filter(van=van, date=day, cancelled_at=None)
    rows = OwnBag.objects.filter(person__jobs__in=jobs).select_related("person", "place")
    return list(rows.order_by("place__name", "pk").distinct())


def give_bag(person: Person, by: Person) -> Place:
    """Give a person an own bag with a label of ours; the one there is, if there is one."""
    with writing():
        found = bag_of(person)
        if found is not None:
            return found
        name, subject = f"{person.name}{OF_OWNER}", f"{OWNER}{person.uid}"
        bag = placing.make(PlaceKind.BAG, name, subject=subject)  # like a van, in no depot
        OwnBag.objects.create(person=person, place=bag, by=by)
    return bag


def called(person: Person) -> None:
    """Give the own bag the name that its person has now."""
    Place.objects.filter(own_bag__person=person).update(name=f"{person.name}{OF_OWNER}"[:120])


def tell(place: Place, item: Item, least: int, up_to: int, by: Person) -> Carried:
    """From now on a place carries `least` to `up_to` of an item, in base units; 0 to 0 ends it.

    place: a van or an own bag. Raises ListError.
    """
    if place.kind != PlaceKind.VAN and not is_own_bag(place):
        raise ListError(f"expected a van, got {place.name}, {place.get_kind_display()}")
    counted = item.tracking in (*USED_UP, Tracking.TOOL)
    if not counted or item.unit == "mm":
        wanted = "expected a tool or what is followed by number or batch"
        raise ListError(f"{item.code}: {wanted}, got {item.get_tracking_display()}")
    if not 0 <= least <= up_to <= MOST:
        wanted = f"expected at least 0, up to no less than that and no more than {MOST}"
        raise ListError(f"{item.code}: {wanted}, got {least} up to {up_to}")
    with writing():
        return Carried.objects.create(place=place, item=item, least=least, up_to=up_to, by=by)


def carried(van: Place | None, items: Iterable[int] | None = None) -> dict[int, Carried]:
    """Return item id -> the row that counts, by name of the item; of these items only if given."""
    if van is None:
        return {}
    asked = None if items is None else set(items)
    rows = van.carried.all()  # not filtered: whoever lists many kits has fetched them
    latest = {row.item_id: row for row in rows if asked is None or row.item_id in asked}
    kept = sorted(latest.items(), key=lambda pair: (pair[1].item.name, pair[1].item.code))
    return {item: row for item, row in kept if row.up_to}


def _good(found: dict[int, list[Spot]], day: date) -> dict[int, list[Spot]]:
    """Those spots whose batch does not expire before that day."""
    return {
        item: [spot for spot in spots if not spot.expired(day)] for item, spots in found.items()
    }


def first_of(spots: Iterable[Spot], most: int) -> tuple[Spot, ...]:
    """Return up to `most` base units off the front of these spots."""
    found = []
    for spot in spots:
        part = min(spot.quantity, most)
        if part > 0:
            found.append(replace(spot, quantity=part))
            most -= part
    return tuple(found)


def free_for(kit: Kit, items: Collection[int]) -> dict[int, int]:
    """Return item id -> base units with the crew that no older open kit takes."""
    spots = spots_for(kit, items)
    return {item: sum(spot.quantity for spot in spots[item]) for item in items}


def spots_for(kit: Kit, items: Collection[int]) -> dict[int, list[Spot]]:
    """Return item id -> what is in the crew's own bags and on the kit's van, in this order, and no
    older open kit takes.

    An older kit takes from the places it has with this one, in the same order: a bag that only it
    has frees nothing of the van. The same number of questions for one older kit and for many.
    """
    good = _good(with_the_crew(kit, items, serials=False), kit.job.date)
    left = {item: good.get(item, []) for item in items}
    places = [spot.place for spots in left.values() for spot in spots]
    if not places:
        return left
    bags = {place.pk for place in places if is_own_bag(place)}
    same = Q(job__in=Job.objects.filter(crew__own_bag__place__in=bags)) if bags else Q()
    older = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    older = older.filter(Q(job__van=kit.job.van) | same).exclude(pk=kit.pk)
    if kit.released_at is not None:
        older = older.filter(released_at__lt=kit.released_at)
    claims = _claims(older, items)
    going = going_with([one.job for one, _, _ in claims], places)
    for one, item, claim in claims:
        left[item] = _after(left[item], going[one.job_id], claim)
    return left


def _after(spots: list[Spot], going: Collection[int], claim: int) -> list[Spot]:
    """What an older kit leaves of these spots: it takes only from what goes with it as well."""
    left = []
    for spot in spots:
        around = carrier(spot.place)
        part = min(spot.quantity, max(claim, 0)) if around and around.pk in going else 0
        claim -= part
        if spot.quantity > part:
            left.append(replace(spot, quantity=spot.quantity - part))
    return left


def _claims(kits: QuerySet[Kit], items: Collection[int]) -> list[tuple[Kit, int, int]]:
    """Return kit, item and what the kit still lacks of it and may take from the van, at most; the
    oldest first.

    What comes in the boxes of its other things is not taken off: boxes may lack it, and a younger
    kit rather picks one too many than drives off without. So with what lies loose at a site that
    several open kits share: nobody knows whose it is.
    """
    lines = KitLine.objects.filter(kit__in=kits, item__in=items).order_by()
    open_ = {
        (kit, item): needed
        for kit, item, needed in lines.values_list("kit", "item").annotate(Sum("quantity"))
    }
    rows = {
        row.pk: row
        for row in kits.filter(pk__in=[kit for kit, _ in open_]).select_related("job__site__place")
    }
    kit_of = {row.subject: row.pk for row in rows.values()}
    at = {row.job.site.place.pk: row.pk for row in rows.values()}
    for place in _shared(at):
        del at[place]
    held = Holding.objects.filter(lot__item__in=items, quantity__gt=0).order_by()
    bagged = held.exclude(place__subject=F("place__parent__subject"))  # each thing counts once
    for path, lying in (("place__subject", held), ("place__parent__subject", bagged)):
        inside = lying.filter(**{f"{path}__in": kit_of}).values_list(path, "lot__item")
        for subject, item, quantity in inside.annotate(Sum("quantity")):
            _less(open_, kit_of[subject], item, quantity)
    for place, item, quantity in held.filter(place__in=at).values_list(
        "place", "lot__item", "quantity"
    ):
        _less(open_, at[place], item, quantity)
    gone = Movement.objects.filter(
        lot__item__in=items,
        event__subject__in=kit_of,
        event__step__in=LEFT,
        event__reversed_by=None,
    ).order_by()
    left = gone.values_list("event__subject", "lot__item").annotate(Sum("quantity"))
    for subject, item, quantity in left:
        _less(open_, kit_of[subject], item, quantity)
    told = [(rows[kit], item, claim) for (kit, item), claim in open_.items()]
    return sorted(told, key=lambda one: (str(one[0].released_at), one[0].pk))


def _shared(sites: Collection[int]) -> list[int]:
    """Those of these places of sites that more than one open kit goes to."""
    open_ = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    of_them = open_.filter(job__site__place__in=sites).order_by().values("job__site__place")
    many = of_them.annotate(kits=Count("pk")).filter(kits__gt=1)
    return list(many.values_list("job__site__place", flat=True))


def _less(claims: dict[tuple[int, int], int], kit: int, item: int, quantity: int) -> None:
    if (kit, item) in claims:
        claims[kit, item] -= quantity


def levels(place: Place, day: date) -> list[Level]:
    """Return each item of the list of a van or own bag beside what is there, good that day."""
    rows = carried(place)
    there, shelves = _good(carried_by(place, rows), day), on_shelves(rows)
    used = _used(place, rows)
    found = []
    for item, row in rows.items():
        good = [spot for spot in shelves.get(item, ()) if not spot.expired(day)]
        held = sum(spot.quantity for spot in there.get(item, ()))
        found.append(Level(row, held, good[0] if good else None, tuple(used[item].items())))
    return found


def _used(place: Place, items: Collection[int]) -> dict[int, dict[str, int]]:
    """Return item id -> kit -> what its job took of it since some was last put on it."""
    moves = Movement.objects.filter(lot__item__in=items, event__reversed_by=None).order_by("-pk")
    on_it = moves.filter(Q(from_place=place) | Q(to_place=place))
    found: dict[int, dict[str, int]] = defaultdict(dict)
    filled = set()
    steps = on_it.filter(event__step__in=(*TAKEN, "put"))
    for item, step, to, subject, quantity in steps.values_list(
        "lot__item", "event__step", "to_place", "event__subject", "quantity"
    )[:RECENT]:
        if step == "put" and to == place.pk:
            filled.add(item)
        elif step in TAKEN and item not in filled:
            kit = subject.removeprefix("kit:")
            found[item][kit] = found[item].get(kit, 0) + quantity
    return found
