"""The standing list of a van: what it always carries, with levels; what is to be brought to it.

The only writer of the list. What of it is there are holdings like any other, loose on the van.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q, QuerySet, Sum

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
from kitting.models import Carried, Kit, KitLine
from kitting.shelves import Spot, on_shelves, on_the_van

MOST = 100_000  # base units of one item on a van
USED_UP = (Tracking.COUNT, Tracking.LOT)  # what a job takes of the van; its tools stay there
RECENT = 500  # movements looked back at: a van is filled far more often
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
        """Whether the van is to be topped up with it."""
        return self.there < self.row.least

    @property
    def to_bring(self) -> int:
        """How many fill it up, 0 where it is not below its least and no job used any."""
        asked = self.is_below or bool(self.used)
        return max(self.row.up_to - self.there, 0) if asked else 0


def tell(van: Place, item: Item, least: int, up_to: int, by: Person) -> Carried:
    """From now on a van carries `least` to `up_to` of an item, in base units; 0 to 0 ends it.

    Raises ListError.
    """
    if van.kind != PlaceKind.VAN:
        raise ListError(f"expected a van, got {van.name}, {van.get_kind_display()}")
    counted = item.tracking in (*USED_UP, Tracking.TOOL)
    if not counted or item.unit == "mm":
        wanted = "expected a tool or what is followed by number or batch"
        raise ListError(f"{item.code}: {wanted}, got {item.get_tracking_display()}")
    if not 0 <= least <= up_to <= MOST:
        wanted = f"expected at least 0, up to no less than that and no more than {MOST}"
        raise ListError(f"{item.code}: {wanted}, got {least} up to {up_to}")
    with writing():
        return Carried.objects.create(van=van, item=item, least=least, up_to=up_to, by=by)


def carried(van: Place | None, items: Iterable[int] | None = None) -> dict[int, Carried]:
    """Return item id -> the row that counts, by name of the item; of these items only if given."""
    if van is None:
        return {}
    asked = None if items is None else set(items)
    rows = van.carried.all()  # not filtered: whoever lists many kits has fetched them
    latest = {row.item_id: row for row in rows if asked is None or row.item_id in asked}
    kept = sorted(latest.items(), key=lambda pair: (pair[1].item.name, pair[1].item.code))
    return {item: row for item, row in kept if row.up_to}


def usable(van: Place | None, items: Iterable[int], day: date) -> dict[int, list[Spot]]:
    """Return item id -> what of it lies loose on the van, does not expire before that day."""
    return {
        item: [spot for spot in spots if not spot.expired(day)]
        for item, spots in on_the_van(van, items).items()
    }


def free_for(kit: Kit, items: Collection[int]) -> dict[int, int]:
    """Return item id -> base units on the kit's van that no older open kit of that van takes.

    The same number of questions for one older kit and for many.
    """
    spots = usable(kit.job.van, items, kit.job.date)
    there = {item: sum(spot.quantity for spot in spots.get(item, ())) for item in items}
    older = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__van=kit.job.van)
    older = older.filter(job__cancelled_at=None).exclude(pk=kit.pk)
    if kit.released_at is not None:
        older = older.filter(released_at__lt=kit.released_at)
    claims = _claims(older, items) if any(there.values()) else {}
    for (_, item), claim in claims.items():
        there[item] = max(there[item] - max(claim, 0), 0)
    return there


def _claims(kits: QuerySet[Kit], items: Collection[int]) -> dict[tuple[int, int], int]:
    """Return (kit, item) -> what that kit still lacks of it and may take from the van, at most.

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
    return open_


def _shared(sites: Collection[int]) -> list[int]:
    """Those of these places of sites that more than one open kit goes to."""
    open_ = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    of_them = open_.filter(job__site__place__in=sites).order_by().values("job__site__place")
    many = of_them.annotate(kits=Count("pk")).filter(kits__gt=1)
    return list(many.values_list("job__site__place", flat=True))


def _less(claims: dict[tuple[int, int], int], kit: int, item: int, quantity: int) -> None:
    if (kit, item) in claims:
        claims[kit, item] -= quantity


def levels(van: Place, day: date) -> list[Level]:
    """Return each item of a van's list beside what is there and still good that day."""
    rows = carried(van)
    there, shelves, used = usable(van, rows, day), on_shelves(rows), _used(van, rows)
    found = []
    for item, row in rows.items():
        good = [spot for spot in shelves.get(item, ()) if not spot.expired(day)]
        held = sum(spot.quantity for spot in there.get(item, ()))
        found.append(Level(row, held, good[0] if good else None, tuple(used[item].items())))
    return found


def _used(van: Place, items: Collection[int]) -> dict[int, dict[str, int]]:
    """Return item id -> kit -> what its job took of the van since some was last put on it."""
    moves = Movement.objects.filter(lot__item__in=items, event__reversed_by=None).order_by("-pk")
    on_it = moves.filter(Q(from_place=van) | Q(to_place=van))
    found: dict[int, dict[str, int]] = defaultdict(dict)
    filled = set()
    steps = on_it.filter(event__step__in=("use", "put"))
    for item, step, to, subject, quantity in steps.values_list(
        "lot__item", "event__step", "to_place", "event__subject", "quantity"
    )[:RECENT]:
        if step == "put" and to == van.pk:
            filled.add(item)
        elif step == "use" and item not in filled:
            kit = subject.removeprefix("kit:")
            found[item][kit] = found[item].get(kit, 0) + quantity
    return found
