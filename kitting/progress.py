"""How far a kit has come, folded from where its things are and what its events moved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import F, Q, Sum

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
from kitting import came_of, netting, of_kit, packed_pieces, shelves, standing_list
from kitting.day_lines import with_tools_of_before
from kitting.models import AsBuilt, Kit, KitLine, Package
from kitting.packed_pieces import Piece
from kitting.tallies import LineProgress, Progress, Total, share

STANDING = ("fit", "commission", "swap")  # steps that stand a unit at its place
DOWN = ("take_down", "swap")  # steps that take a unit off its place
# Step -> figure of Total; a request tells what is missing as well.
LEAVING = {"use": "used", "bring_back": "back", "missing": "lost", "request": "lost"}


ItemTotal = Callable[[Item], Total]


def fold(kit: Kit, only: Item | None = None, asked: of_kit.Asked | None = None) -> Progress:
    """Return how far a kit has come, in some ten queries whatever its size.

    only: look at this item alone, and leave the lines' reasons unread but those of a length: what
    one scan has to know. asked: see kitting/folding.py.
    """
    lines, earlier = asked.lines if asked else with_tools_of_before(kit, only)
    totals: dict[str, Total] = {}
    cancelled = kit.job.cancelled_at is not None
    for line in lines:
        total = totals.setdefault(line.item.code, Total(line.item, cancelled=cancelled))
        total.needed += line.quantity
        total.spare += line.quantity if line.spare else 0
        total.undecided += line.undecided
    others: dict[str, Total] = {}

    def of(item: Item) -> Total:
        found = totals.get(item.code)
        return found if found is not None else others.setdefault(item.code, Total(item))

    boxed = _count_boxes_and_van(kit, totals, lines if only is None else None, earlier, asked)
    steps = asked.steps if asked else {s for (s,) in of_kit.STEPS.tuples(subject=kit.subject)}
    down = set() if steps.isdisjoint(DOWN) else taken_down(kit)
    known = {line.item_id: line.item for line in lines}
    around = asked.around if asked else of_kit.places(kit, only, bags=True)
    packed = [place for place in around if not shelves.is_own_bag(place)]
    own = [place for place in around if shelves.is_own_bag(place)]
    seen = _Seen(kit, packed, own, steps, down, only, known, asked)
    in_bags = _count_places(seen, of)
    _count_moves(seen, of)
    _count_findings(seen, of)
    for total in totals.values():
        # What came out of a box is here, whatever the list tells of boxes by now.
        total.in_boxes = min(max(total.in_boxes, total.out_of_boxes), total.needed)
    _count_standing(kit, totals, seen.in_own_bags)
    uncut = _uncut(kit, lines, totals, boxed)
    rows = _spread(lines, totals, in_bags, uncut)
    if kit.closed_by_id is not None:
        ended = came_of.told(lines, totals)
        rows = (replace(row, came_of=ended[row.line.pk]) for row in rows)
    return Progress(kit, totals, tuple(rows), others)


@dataclass(frozen=True, slots=True)
class Uncut:
    """The pieces of one line of a length."""

    left: tuple[int, ...]  # mm of each that nothing packed or in a box holds, in order
    in_boxes: int  # mm that pieces in boxes hold


@dataclass(frozen=True, slots=True)
class _Seen:
    """What the counts below look at."""

    kit: Kit
    packed: list[Place]
    own: list[Place]  # bags of those in its crew
    steps: set[str]  # of its events: a step that nobody has scanned counts nothing
    down: set[int]  # units that this job took down
    only: Item | None
    known: dict[int, Item]  # items that the lines name
    asked: of_kit.Asked | None
    in_own_bags: set[int] = field(default_factory=set)  # ids of items, once the places are counted

    def of_item(self, path: str) -> Q:
        """Restrict rows to the one item, if only one is looked at."""
        return Q(**{path: self.only}) if self.only is not None else Q()

    def items(self, ids: Iterable[int]) -> dict[int, Item]:
        """Return items by their id; what the lines name is not asked again."""
        return self.known | Item.objects.in_bulk(set(ids) - self.known.keys())


def _count_boxes_and_van(
    kit: Kit,
    totals: dict[str, Total],
    lines: list[KitLine] | None,
    earlier: dict[int, int],
    asked: of_kit.Asked | None,
) -> dict[int, list[Piece]]:
    """Count what comes besides; return item id -> the pieces of a length that lie in boxes.

    earlier: item id -> tools that other kits of the day have on the van.
    """
    by_id = {total.item.pk: total for total in totals.values()}
    boxed = {}
    told = asked.boxes if asked else None
    for item, boxes in netting.in_boxes(kit, by_id, lines, told).items():
        by_id[item].box_of = boxes[0].box_of
        by_id[item].in_boxes = min(sum(box.quantity for box in boxes), by_id[item].needed)
        if by_id[item].item.unit == "mm":
            boxed[item] = [Piece(box.each, 0) for box in boxes for _ in range(box.boxes)]
    tools = [pk for pk, total in by_id.items() if total.item.tracking == Tracking.TOOL]
    if tools:
        there = asked.tools if asked else shelves.with_the_crew(kit, tools, serials=False)
        for item in tools:
            # A tool whose test has run out by that day stays where it is.
            good = [spot for spot in there[item] if not spot.expired(kit.job.date)]
            loose, needed = sum(spot.quantity for spot in good), by_id[item].needed
            by_id[item].on_van = min(max(loose, earlier.get(item, 0)), needed)
            by_id[item].carried = standing_list.first_of(good, needed)
    return boxed


def _count_standing(kit: Kit, totals: dict[str, Total], in_own_bags: set[int]) -> None:
    """What the van's standing list covers, and what is in the crew's own bags, is not picked, less
    what older open kits take of it.

    What was used of it counts as used: on the van is only what is there still.
    """
    by_id = {total.item.pk: total for total in totals.values()}
    counted = [pk for pk, total in by_id.items() if total.item.tracking in standing_list.USED_UP]
    listed = standing_list.carried(kit.job.van, counted) if counted else {}
    asked = {*listed, *in_own_bags.intersection(counted)}
    if not asked:
        return
    there = standing_list.spots_for(kit, asked)
    for item in asked:
        good = [spot for spot in there[item] if shelves.is_own_bag(spot.place) or item in listed]
        by_id[item].carried = standing_list.first_of(good, by_id[item].to_pick)
        by_id[item].on_van = sum(spot.quantity for spot in by_id[item].carried)


def places_of(kit: Kit, only: Item | None = None) -> list[Place]:
    """Return the places a kit travels in and the boxes in them; only those that hold an item."""
    return of_kit.places(kit, only, bags=False)


def taken_down(kit: Kit) -> set[int]:
    """Return the ids of units that this kit's job took down: there, but not brought along."""
    gone = AsBuilt.objects.filter(until__subject=kit.subject)
    return set(gone.exclude(unit=None).values_list("unit_id", flat=True))


def _count_places(seen: _Seen, of: ItemTotal) -> dict[tuple[str, str], int]:
    """Count what the kit's places and its site hold; return (step, item) -> in bags."""
    kit, site = seen.kit, seen.kit.job.site.place
    places = {place.pk: place for place in [*seen.packed, *seen.own, site]}
    own = {place.pk for place in seen.own}
    in_bags: dict[tuple[str, str], int] = defaultdict(int)
    if seen.asked is not None:
        found = seen.asked.held
    elif seen.only is None:
        found = of_kit.HELD.tuples(place=places)
    else:
        found = of_kit.HELD_OF_ITEM.tuples(place=places, item=seen.only.pk)
    seen.in_own_bags.update(item for at, item, _ in found if at in own)
    rows = [row for row in found if row[0] not in own]
    items = seen.items({item for _, item, _ in rows})
    for at, item, quantity in rows:
        place, total = places[at], of(items[item])
        _put(total, where(place, site), quantity)
        # A site is nobody's bag: not asked once more for each kit of a list.
        package = None if place.pk == site.pk else getattr(place, "package", None)
        if package is not None and package.kind == Package.Kind.BAG:
            in_bags[package.step, total.item.code] += quantity
    # Units that this job took off the wall stand at the site but were never part of the kit.
    if seen.down:
        old = Unit.objects.filter(seen.of_item("item"), pk__in=seen.down, place__in=places)
        for unit in old.select_related("item"):
            assert unit.place_id is not None
            _put(of(unit.item), where(places[unit.place_id], site), -1)
    if not seen.steps.isdisjoint(STANDING):
        standing = AsBuilt.objects.filter(
            seen.of_item("unit__item"), until=None, since__subject=kit.subject
        )
        for row in standing.select_related("unit__item"):
            of(row.kind_of).fitted += 1
    return in_bags


def where(place: Place, site: Place) -> str:
    """Return the figure of Total that things at this place of the kit count for."""
    around = place.way_up()
    if any(p.pk == site.pk for p in around):
        opened = place.pk == site.pk or place.parent_id == site.pk
        return "on_site" if opened and place.kind != PlaceKind.PARCEL else "loaded_now"
    return "loaded_now" if place.within(PlaceKind.VAN) else "at_depot"


def _put(total: Total, figure: str, quantity: int) -> None:
    setattr(total, figure, getattr(total, figure) + quantity)


def _count_moves(seen: _Seen, of: ItemTotal) -> None:
    """Count what left the kit: used, brought back, missing."""
    if "unbox" in seen.steps:
        _count_boxes(seen, of)
    if seen.steps.isdisjoint(LEAVING):
        return
    moves = Movement.objects.filter(
        seen.of_item("lot__item"),
        event__subject=seen.kit.subject,
        event__step__in=LEAVING,
        event__reversed_by=None,
    ).exclude(unit__in=seen.down)
    rows = list(moves.values("event__step", "lot__item").annotate(total=Sum("quantity")))
    boxes = ContainerMove.objects.filter(
        event__subject=seen.kit.subject, event__step="bring_back", event__reversed_by=None
    )
    returned = list(
        Holding.objects.filter(
            seen.of_item("lot__item"), place__in=boxes.values("place"), quantity__gt=0
        )
        .exclude(place__subject=seen.kit.subject)
        .values("lot__item")
        .annotate(total=Sum("quantity"))
    )
    items = seen.items({row["lot__item"] for row in [*rows, *returned]})
    for row in rows:
        _put(of(items[row["lot__item"]]), LEAVING[row["event__step"]], row["total"])
    for box in returned:
        of(items[box["lot__item"]]).back += box["total"]


def _count_found(seen: _Seen, of: ItemTotal) -> None:
    """What was missing and is found or replaced is counted where it is now, not as lost besides."""
    subject = seen.kit.subject
    moves = Movement.objects.filter(
        seen.of_item("lot__item"),
        event__answers__finding__kind=Finding.Kind.MISSING,
        event__answers__finding__subject=subject,
        event__answers__finding__item=F("lot__item"),
        event__reversed_by=None,
        event__reversal=None,
    ).exclude(Q(from_place__subject=subject) | Q(from_place__parent__subject=subject))
    rows = list(moves.values_list("pk", "lot__item", "quantity").distinct())
    items = seen.items({item for _, item, _ in rows})
    for _, item, quantity in rows:
        total = of(items[item])
        total.lost = max(total.lost - quantity, 0)


def _count_boxes(seen: _Seen, of: ItemTotal) -> None:
    """Count what came in the box of another thing, straight from the supplier."""
    moves = Movement.objects.filter(
        seen.of_item("lot__item"),
        event__subject=seen.kit.subject,
        event__step="unbox",
        event__reversed_by=None,
        from_place__kind=PlaceKind.SUPPLIER,
        unit=None,
    )
    rows = list(moves.values_list("lot__item").annotate(Sum("quantity")).order_by())
    items = seen.items({item for item, _ in rows})
    for item, quantity in rows:
        of(items[item]).out_of_boxes += quantity


def _count_findings(seen: _Seen, of: ItemTotal) -> None:
    around = [*seen.packed, seen.kit.job.site.place]
    rows = seen.asked.findings if seen.asked else of_kit.findings(seen.kit, seen.only, around)
    items = seen.items({row[0] for row in rows})
    gone = _put_away(seen, {row[5] for row in rows if row[1] == Finding.Kind.DAMAGED})
    for item, kind, quantity, step, answer, unit in rows:
        total = of(items[item])
        if kind == Finding.Kind.DAMAGED:
            # It stays damaged when it is replaced; what an undo asked again is the same damage.
            total.damaged += quantity if step != "undo" and unit not in gone else 0
        elif kind == Finding.Kind.MISSING and not answer:
            total.missing += quantity
        elif kind == Finding.Kind.CLASH and not answer:
            total.dispute += 1
    if any(row[1] == Finding.Kind.MISSING and row[4] for row in rows):
        _count_found(seen, of)


def _put_away(seen: _Seen, units: set[int | None]) -> set[int]:
    """Of these damaged units those that were taken out of the kit before they came to the site:
    they are no part of it any more."""
    known = [unit for unit in units if unit is not None]
    if not known:
        return set()
    subject = seen.kit.subject
    there = [place.pk for place in [*seen.packed, seen.kit.job.site.place]]
    away = Unit.objects.filter(pk__in=known).exclude(place__in=there)
    away = away.exclude(positions__since__subject=subject)
    left = Movement.objects.filter(event__subject=subject, event__step__in=LEAVING, unit__in=known)
    boxes = ContainerMove.objects.filter(event__subject=subject, event__step="bring_back")
    away = away.exclude(pk__in=left.values("unit")).exclude(place__in=boxes.values("place"))
    return set(away.values_list("pk", flat=True))


def _uncut(
    kit: Kit,
    lines: Iterable[KitLine],
    totals: dict[str, Total],
    boxed: dict[int, list[Piece]],
) -> dict[int, Uncut]:
    """Line id -> which of its pieces nothing holds, and their sum on the total.

    Only of lengths of which something is packed or comes in a box; a box's piece is one piece, too.
    """
    joined = {line.item_id for line in lines if line.unit == "mm" and not line.whole}
    cut = [
        total.item
        for total in totals.values()
        if total.item.unit == "mm" and (total.picked or total.in_boxes) and not total.on_van
        if total.item.pk not in joined
    ]
    picked = [item for item in cut if totals[item.code].picked]
    found: dict[int, Uncut] = {}
    packed = packed_pieces.of(kit, picked) if picked else {}
    for item in cut:
        mine, total = [line for line in lines if line.item_id == item.pk], totals[item.code]
        ours, theirs = packed.get(item.pk, []), boxed.get(item.pk, [])
        left = packed_pieces.uncut(mine, [*theirs, *ours])
        alone = packed_pieces.uncut(mine, theirs)
        total.uncut = sum(sum(pieces) for pieces in left.values())
        unused = packed_pieces.unused(mine, [*theirs, *ours])
        total.unwanted = tuple(piece for piece in unused if piece.lot)
        found |= {n.pk: Uncut(left[n.pk], n.quantity - sum(alone[n.pk])) for n in mine}
        total.in_boxes = max(sum(found[n.pk].in_boxes for n in mine), total.out_of_boxes)
    return found


def _spread(
    lines: Iterable[KitLine],
    totals: dict[str, Total],
    in_bags: dict[tuple[str, str], int],
    uncut: dict[int, Uncut],
) -> Iterable[LineProgress]:
    """Spread each item's figures over its lines, in the order of the steps.

    What lies in a step's own bag counts for that step first; a length where its piece is wanted.
    """
    rows = list(lines)
    per_item: dict[str, list[KitLine]] = defaultdict(list)
    for line in rows:
        per_item[line.item.code].append(line)
    done: dict[int, LineProgress] = {}
    for code, mine in per_item.items():
        total = totals[code]
        needs = [line.quantity for line in mine]
        cut = [uncut[line.pk] for line in mine] if total.uncut is not None else []
        boxes = [one.in_boxes for one in cut] or share(total.in_boxes, needs)
        van = share(total.on_van, [n - b for n, b in zip(needs, boxes, strict=True)])
        open_needs = [n - b - v for n, b, v in zip(needs, boxes, van, strict=True)]
        bags = [min(in_bags[line.step, code], n) for line, n in zip(mine, open_needs, strict=True)]
        free = [n - b for n, b in zip(open_needs, bags, strict=True)]
        rest = share(total.picked - sum(bags), free, keep_all=True)
        picked = [b + r for b, r in zip(bags, rest, strict=True)]
        if cut:
            held = [n - one.in_boxes - sum(one.left) for n, one in zip(needs, cut, strict=True)]
            picked = share(total.picked, [max(n, 0) for n in held], keep_all=True)
        unpacked = share(total.out_of_boxes, boxes, keep_all=True)
        rooms = [p + u for p, u in zip(picked, unpacked, strict=True)]
        figures: dict[str, Any] = {
            name: share(getattr(total, name), rooms) for name in ("loaded", "seen", "done", "back")
        } | {name: share(getattr(total, name), needs) for name in ("missing", "damaged")}
        for place, line in enumerate(mine):
            done[line.pk] = LineProgress(
                line,
                line.quantity,
                boxes[place],
                van[place],
                picked[place],
                **{name: values[place] for name, values in figures.items()},
                dispute=bool(total.dispute),
                uncut=cut[place].left if cut else None,
            )
    return [done[line.pk] for line in rows]
