"""Bags made ahead: filled at the bench from loose stock, taken whole by one scan, opened again.

The only writer of what bags hold. Where a bag is and what is in it are places and holdings like any
other: lots stay traceable through the bag.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from inventory import catalogue
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.lock import writing
from inventory.models import Finding, Holding, Item, Person, Place, PlaceKind, Role, Tracking
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.placing import make
from inventory.queries import place_of_code, standing
from inventory.scanning import UP, resolve
from inventory.words import amount
from kitting.models import BagContent, BagPart, MadeBag
from kitting.shelves import Spot, on_shelves

MOST = 100  # labels entered at once


class BagError(ValueError):
    """What a bag shall hold cannot be as asked; the message says what was expected and came."""


@dataclass(frozen=True, slots=True)
class Filled:
    """A bag with something in it."""

    place: Place
    content: BagContent  # what it was made with
    holdings: tuple[Holding, ...]

    @property
    def whole(self) -> bool:
        """Whether it holds what it was made with, no more and no less."""
        told = {part.item_id: part.quantity for part in self.content.parts.all()}
        return held_in(self.holdings) == told


def held_in(holdings: tuple[Holding, ...]) -> dict[int, int]:
    """Return item id -> base units."""
    found: dict[int, int] = defaultdict(int)
    for holding in holdings:
        found[holding.lot.item_id] += holding.quantity
    return dict(found)


def content_of(bag: Item, day: date) -> BagContent | None:
    """Return what a bag of this kind is made with on a day."""
    rows = BagContent.objects.filter(bag=bag, since__lte=day).order_by("-since")
    return rows.select_related("bag").prefetch_related("parts__item").first()


def tell(bag: Item, parts: Mapping[Item, int], since: date, by: Person) -> BagContent:
    """From a day on bags of this kind are made with these. parts: item -> base units.

    Raises BagError. Bags that are made keep what is in them.
    """
    for item, quantity in parts.items():
        small = item.tracking in (Tracking.COUNT, Tracking.LOT) and item.unit == "piece"
        if not small or quantity < 1 or item.pk == bag.pk:
            kind = item.get_tracking_display()
            wanted = "expected 1 or more pieces of what is followed by number or batch"
            raise BagError(f"{item.code}: {wanted}, got {quantity} {kind}")
    if not parts:
        raise BagError("expected at least one thing in the bag, got nothing")
    with writing():
        later = BagContent.objects.filter(bag=bag, since__gte=since).order_by("-since").first()
        if later is not None:
            raise BagError(f"expected a day after {later.since}, which is told, got {since}")
        content = BagContent.objects.create(bag=bag, since=since, by=by)
        BagPart.objects.bulk_create(
            BagPart(content=content, item=item, quantity=quantity)
            for item, quantity in parts.items()
        )
    return content


def enter_kind(code: str, name: str) -> Item:
    """Enter a new kind of bag."""
    return catalogue.enter_item(Item(code=code, name=name, tracking=Tracking.COUNT))


def enter_labels(number: int, at: Place) -> list[Place]:
    """Enter so many empty bags, 1 to MOST, each with a label of its own, at a place of ours."""
    if not 1 <= number <= MOST:
        raise BagError(f"expected 1 to {MOST} bags, got {number}")
    with writing():
        made = [make(PlaceKind.BAG, "Bag made ahead", parent=at) for _ in range(number)]
        for place in made:
            Place.objects.filter(pk=place.pk).update(name=f"Bag {place.code}")
    return made


def is_ours(place: Place) -> bool:
    """Whether a place is a bag that is made ahead, or was entered for one: it is of no kit."""
    return place.kind == PlaceKind.BAG and not place.subject


def filled(which: Q | None = None) -> list[Filled]:
    """Return the bags made ahead that hold something, by label; `which` narrows holdings down."""
    in_bags = Q(place__kind=PlaceKind.BAG, place__subject="", quantity__gt=0)
    some = Holding.objects.filter(in_bags, which or Q()).values("place")
    rows = Holding.objects.filter(in_bags, place__in=some).order_by("place__code", "pk")
    found: dict[int, list[Holding]] = defaultdict(list)
    for row in rows.select_related("lot__item", f"place__{UP}"):
        found[row.place_id].append(row)
    made = MadeBag.objects.filter(place__in=found, event__reversed_by=None).order_by("pk")
    whole = made.select_related("content__bag").prefetch_related("content__parts__item")
    latest = {one.place_id: one.content for one in whole}
    return [
        Filled(rows_[0].place, latest[place], tuple(rows_))
        for place, rows_ in found.items()
        if place in latest
    ]


@dataclass(frozen=True, slots=True)
class OnShelves:
    """Bags made ahead, and what of them may be taken."""

    bags: list[Filled]
    usable: set[tuple[int, int]]  # (place, lot) on a shelf and not set aside


def with_some_of(items: Collection[int]) -> OnShelves:
    """Return the bags that hold some of these items."""
    found = filled(Q(lot__item__in=list(items))) if items else []
    return OnShelves(found, _usable_spots(found) if found else set())


def to_take(
    needed: Mapping[int, int], day: date, made: OnShelves, gone: Collection[int] = ()
) -> list[Filled]:
    """Return the bags on the shelves of which a kit needs all: what ends first comes first.

    needed: item id -> base units still to be picked. day: nothing in it may end before. made:
    those that hold some of it. gone: places of bags that another kit of the same walk takes.
    """
    left, usable = dict(needed), made.usable
    candidates = [bag for bag in made.bags if bag.place.pk not in gone]
    taken = []
    for bag in sorted(candidates, key=lambda one: (_ends(one), one.place.code)):
        held = held_in(bag.holdings)
        fits = all(left.get(item, 0) >= quantity for item, quantity in held.items())
        whole = all((bag.place.pk, holding.lot_id) in usable for holding in bag.holdings)
        if fits and whole and _ends(bag) >= day:
            taken.append(bag)
            for item, quantity in held.items():
                left[item] -= quantity
    return taken


def _usable_spots(candidates: list[Filled]) -> set[tuple[int, int]]:
    """Return (place, lot) of what stands in these bags on a shelf and is not set aside."""
    items = {holding.lot.item_id for bag in candidates for holding in bag.holdings}
    spots = on_shelves(items)
    return {(spot.place.pk, spot.lot.pk) for found in spots.values() for spot in found}


def _ends(bag: Filled) -> date:
    return min((h.lot.expires_on or date.max for h in bag.holdings), default=date.max)


def make_bag(writes: Writing) -> Verdict:
    """Fill the scanned, empty bag with what its kind (`with`) holds today.

    From the place "from"; without it from the shelves, first expired first. The target, if any, is
    where the bag lies then.
    """
    bag, kind = _bag_of(writes), resolve(writes.line.companion).item
    content = content_of(kind, writes.event.received_at.date()) if kind is not None else None
    if kind is None or content is None:
        raise CannotMove("Choose which bag it is: nothing is told of what it holds")
    if Holding.objects.filter(place=bag, quantity__gt=0).exists():
        raise CannotMove(f"{bag.name} is full already. Take an empty one")
    start, to = place_of_code(writes.line.start), place_of_code(writes.line.target)
    if any(one is not None and standing(one) is not Standing.SHELF for one in (start, to)):
        raise CannotMove("Say where: scan a place of the depot")
    if to is not None and bag.parent_id != to.pk:
        writes.container(bag, to)
    lacking = [
        amount(short, part.item)
        for part in content.parts.all()
        if (short := _fill(writes, bag, part, start))
    ]
    MadeBag.objects.create(event=writes.event, place=bag, content=content)
    held = ", ".join(amount(part.quantity, part.item) for part in content.parts.all())
    said = f"{bag.name} is now {kind.name}: {held}."
    if lacking:
        return Verdict("problem", f"{said} The book lacked {' and '.join(lacking)}.")
    return Verdict("applied", said)


def _bag_of(writes: Writing) -> Place:
    bag = writes.thing.place
    if bag is None or not is_ours(bag):
        raise CannotMove("Scan the label of an empty bag made for this")
    if standing(bag) is not Standing.SHELF:
        raise CannotMove(f"{bag.name} is not at the depot by the book. Put it there first")
    return bag


def _fill(writes: Writing, bag: Place, part: BagPart, start: Place | None) -> int:
    """Move one part into a bag; the hand wins: return what the book lacked of it."""
    item, left = part.item, part.quantity
    if start is not None:
        return writes.item(item, start, bag, left)
    spots = [spot for spot in on_shelves([item.pk])[item.pk] if not is_ours(spot.place)]
    for spot in spots:
        taken = min(spot.quantity, left)
        if taken:
            writes.lot(spot.lot, spot.place, bag, taken)
            left -= taken
    if left:
        writes.lot(nameless(item), outside(PlaceKind.UNEXPLAINED), bag, left)
        words = f"{amount(left, item)} went into {bag.name}; the book had none left."
        writes.finding(Finding.Kind.COUNT, words, item=item, place=_last(spots, bag), quantity=left)
    return left


def _last(spots: list[Spot], bag: Place) -> Place:
    return spots[-1].place if spots else bag


def open_bag(writes: Writing) -> Verdict:
    """What is in the scanned bag lies loose at the target, or where the bag stood."""
    bag = _bag_of(writes)
    to = place_of_code(writes.line.target) if writes.line.target else bag.parent
    if to is None or standing(to) is not Standing.SHELF or is_ours(to):
        raise CannotMove("Say where it is put: scan a place of the depot")
    rows = Holding.objects.filter(place=bag, quantity__gt=0).select_related("lot__item")
    moved = list(rows.order_by("pk"))
    for holding in moved:
        writes.lot(holding.lot, bag, to, holding.quantity)
    if not moved:
        return Verdict("noted", f"{bag.name} is empty.")
    held = ", ".join(amount(holding.quantity, holding.lot.item) for holding in moved)
    return Verdict("applied", f"{bag.name} is opened: {held} loose at {to.name}.")


_DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
MAKE_BAG = Act("make_bag", _DESK, make_bag)
OPEN_BAG = Act("open_bag", _DESK, open_bag)
