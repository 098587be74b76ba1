"""From where each line comes: the box of another thing, the van, the bins in walking order.

Lines say what is needed; this says where to find it. Nothing here is stored: reservations follow
from the open kits in the order of their release, and a proposed unit is a suggestion only.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import takewhile

from inventory.models import Holding, Item, Kept, Lot, Place, Tracking, Unit
from kitting import bags, lengths, offering, still_needed
from kitting.bags import OnShelves
from kitting.folding import fold_each
from kitting.lengths import Cut, Rack
from kitting.models import Kit
from kitting.offering import Key, Offers
from kitting.progress import fold
from kitting.shelves import Spot, is_own_bag, on_shelves
from kitting.tallies import LineProgress, Progress

UNMEASURED = "nobody knows how long one piece of it is: measure before you cut"


@dataclass(frozen=True, slots=True)
class Short:
    """What the stock does not cover."""

    item: Item
    needed: int  # base units still to be picked, or packed and damaged or missing since
    available: int  # base units on the shelves, less what earlier kits wait for
    known: bool  # False: nobody ever booked or counted it, so the shelf may hold it all the same
    longest: int = 0  # of a length: base units of the longest piece that could still be cut
    unmeasured: bool = False  # it lies there without a label: how long one piece is nobody knows

    @property
    def quantity(self) -> int:
        """How many base units are lacking."""
        return max(self.needed - self.available, 0)


@dataclass(frozen=True, slots=True)
class Source:
    """Part of a line and where it comes from."""

    # box (comes with another thing), van (or a person's own bag), bag (made ahead, taken whole),
    # shelf, short
    kind: str
    quantity: int  # base units
    place: Place | None = None
    lot: Lot | None = None
    unit: Unit | None = None
    box_of: Item | None = None  # kind box: the item whose box holds it
    note: str = ""  # what to look at before it is taken
    stick: str = ""  # of a length: what it is cut from, see lengths.Cut
    room: int = 0  # of a length: base units on that stick before this kit cuts from it

    @property
    def look(self) -> str:
        """Of kind van: where to look that it is there."""
        own = self.place is not None and is_own_bag(self.place)
        return f"in {self.place.name}" if own and self.place is not None else "on the van"


def shortages(kit: Kit, progress: Progress | None = None) -> list[Short]:
    """Return what the shelves do not cover of a kit, after the kits released before it.

    progress: how far it is, where somebody knows already.
    """
    before = fold_each(served_before(kit))
    return shortages_by_kit([*before, progress or fold(kit)])[kit.pk]


def shortages_by_kit(progresses: Sequence[Progress]) -> dict[int, list[Short]]:
    """Return kit id -> what the shelves do not cover of it; the older claim comes first."""
    wanted = {t.item.pk for p in progresses for t in p.totals.values() if t.to_pick or t.to_replace}
    stock = {item: list(spots) for item, spots in on_shelves(wanted).items()}
    needs = [need for need in still_needed.of_progresses(progresses) if need.quantity]
    units, rack = offering.offered(needs, shelves=stock), Rack(stock)
    known = set(Kept.objects.filter(item__in=wanted).values_list("item_id", flat=True))
    booked = Holding.objects.filter(lot__item__in=wanted, outside=False)
    known |= set(booked.values_list("lot__item_id", flat=True))
    return {
        progress.kit.pk: _lacking(progress, stock, units, known, rack) for progress in progresses
    }


def _lacking(
    progress: Progress,
    stock: dict[int, list[Spot]],
    units: dict[Key, Offers],
    known: set[int],
    rack: Rack,
) -> list[Short]:
    """Take what a kit still needs off the stock; return what was not there, by code.

    A spare that is not there stops no job.
    """
    lacking = []
    lengths_left = lengths.left(progress.lines)
    for total in progress.totals.values():
        item, needed = total.item, total.must_pick + total.to_replace
        if item.pk in lengths_left:
            short = _too_short(item, total.must_pick, lengths_left[item.pk], rack, known)
        elif item.tracking == Tracking.SERIAL:
            offers = units.get((progress.kit.pk, item.pk))
            there = len(offers.units) if offers else 0
            short = Short(item, needed, there, item.pk in known)
        else:
            old, usable = _by_day(stock.get(item.pk, ()), progress.kit.job.date)
            there = sum(spot.quantity for spot in usable)
            short = Short(item, needed, there, item.pk in known)
            _take(usable, total.to_pick + total.to_replace)
            stock[item.pk] = [*old, *usable]
        if short.quantity and item.tracking != Tracking.SUPPLY:
            lacking.append(short)
    return sorted(lacking, key=lambda short: short.item.code)


def _by_day(spots: Sequence[Spot], day: date) -> tuple[list[Spot], list[Spot]]:
    """What expires before this day, and the rest; both in the order of taking."""
    old = [spot for spot in spots if spot.expired(day)]
    return old, [spot for spot in spots if not spot.expired(day)]


def _too_short(
    item: Item, needed: int, pieces: Sequence[int], rack: Rack, known: set[int]
) -> Short:
    """What cannot be cut of a length, each piece from one stick."""
    longest, cuts = rack.longest(item.pk), rack.cut(item.pk, pieces)
    unmet = sum(cut.piece for cut in cuts if cut.spot is None)
    loose = sum(cut.piece for cut in cuts if not cut.sure)
    if loose and not unmet:
        return Short(item, needed, max(needed - loose, 0), known=False, unmeasured=True)
    return Short(item, needed, max(needed - unmet, 0), item.pk in known, longest)


def served_before(kit: Kit) -> list[Kit]:
    """Return the open kits that take from the shelves before this one; all for one that is not
    open: it comes last."""
    return list(takewhile(lambda other: other.pk != kit.pk, still_needed.open_kits()))


def sources(kit: Kit, progress: Progress | None = None) -> dict[int, list[Source]]:
    """Return line id -> where its still unpicked quantity comes from, in the order of taking.

    progress: how far the kit has come, where the caller knows.
    """
    return sources_of([fold(kit) if progress is None else progress])[kit.pk]


def stock_for(progresses: Sequence[Progress]) -> dict[int, list[Spot]]:
    """Return item id -> what lies on the shelves of all that these kits still take from there."""
    needed = {row.line.item_id for one in progresses for row in one.lines if row.to_pick}
    return on_shelves(needed)


def sources_of(
    progresses: Sequence[Progress], lying: Mapping[int, list[Spot]] | None = None
) -> dict[int, dict[int, list[Source]]]:
    """Return kit id -> line id -> the same of several kits that are picked in one walk.

    What one of them takes is there for none after it; the oldest claim comes first. lying: what
    `stock_for` told of them, where the caller has it.
    """
    needed = {row.line.item_id for one in progresses for row in one.lines if row.to_pick}
    stock = dict(stock_for(progresses) if lying is None else lying)
    units = _units(progresses, stock)
    known = {one.kit.pk: one for one in progresses}
    cut = any(lengths.left(one.lines) for one in progresses)
    turn, reels = (_in_turn(known), lengths.reels_of(stock)) if cut else ([], {})
    made = bags.with_some_of(needed)
    bagged: set[int] = set()  # places of the bags that the kits before take whole
    found: dict[int, dict[int, list[Source]]] = {}
    for progress in progresses:
        kit = progress.kit
        dated = {item: _by_day(spots, kit.job.date) for item, spots in stock.items()}
        shelves = {item: usable for item, (_, usable) in dated.items()}
        rack = _rack(progress, shelves, turn, reels)
        shelves |= {item: spots for (pk, item), spots in units.items() if pk == kit.pk}
        whole = _Bagged(kit, progress.lines, shelves, made, bagged)
        found[kit.pk] = _of_lines(progress, shelves, rack, whole)
        for item, (old, _) in dated.items():
            stock[item] = [*old, *shelves[item]]
    return found


def _of_lines(
    progress: Progress, shelves: dict[int, list[Spot]], rack: Rack, bagged: _Bagged
) -> dict[int, list[Source]]:
    """Where each line of one kit comes from; what it takes is taken off these shelves."""
    totals, lines = progress.totals, progress.lines
    van = {total.item.pk: list(total.carried) for total in totals.values()}
    found: dict[int, list[Source]] = {}
    for row in lines:
        item = row.line.item_id
        parts = [
            Source("box", row.in_boxes, box_of=box_of)
            for box_of in (totals[row.line.item.code].box_of,)
            if row.in_boxes and box_of is not None
        ]
        parts += _carried(van[item], row.on_van)
        whole = bagged.take(item, row.to_pick)
        parts += whole
        if row.to_pick and row.line.whole:
            parts += [_cut(cut) for cut in rack.cut(item, lengths.pieces_left(row))]
        else:
            rest = row.to_pick - sum(source.quantity for source in whole)
            parts += _take(shelves.get(item, []), rest)
        found[row.line.pk] = parts
    return found


def rack_after(kits: Sequence[Kit], shelves: Mapping[int, Sequence[Spot]]) -> Rack:
    """The lengths that lie on these shelves, less what these kits still cut from them."""
    return _less(Rack(shelves), fold_each(kits))


def _less(rack: Rack, before: Iterable[Progress]) -> Rack:
    for progress in before:
        for item, pieces in lengths.left(progress.lines).items():
            rack.cut(item, pieces)
    return rack


def _in_turn(known: Mapping[int, Progress]) -> list[Progress]:
    """How far each open kit has come, in their turn, up to the last of those that are known."""
    turn = list(still_needed.open_kits())
    places = {kit.pk: place for place, kit in enumerate(turn)}
    last = max(places.get(pk, len(turn)) for pk in known)  # one that is not open comes last
    asked = turn[: last + 1]
    others = fold_each([kit for kit in asked if kit.pk not in known])
    folded = {**known, **{one.kit.pk: one for one in others}}
    return [folded[kit.pk] for kit in asked]


def _rack(
    progress: Progress,
    shelves: Mapping[int, Sequence[Spot]],
    turn: Sequence[Progress],
    reels: Mapping[int, int],
) -> Rack:
    """The lengths that lie there, less what the kits released before still cut: two walks do not
    lead to one remnant. Where that is too little, all that lies there: who comes first takes it.
    """
    mine = lengths.left(progress.lines)
    before = takewhile(lambda other: other.kit.pk != progress.kit.pk, turn) if mine else ()
    rack = _less(Rack(shelves, reels), before)
    for item, pieces in mine.items():
        if not rack.holds(item, pieces):
            rack.lay(item, shelves.get(item, ()))
    return rack


def _units(
    progresses: Sequence[Progress], stock: Mapping[int, Sequence[Spot]]
) -> dict[Key, list[Spot]]:
    """(Kit, item) -> the very things that it is offered, of those with serials."""
    single = {item.pk: item for progress in progresses for item in _single(progress)}
    needs = still_needed.needs(list(single.values()), *progresses) if single else []
    found = offering.offered(needs, shelves=stock) if needs else {}
    wanted = {(one.kit.pk, item.pk) for one in progresses for item in _single(one)}
    return {
        key: [replace(one.spot, note=one.note) for one in offers.units]
        for key, offers in found.items()
        if key in wanted
    }


def _single(progress: Progress) -> list[Item]:
    """The items with serials of which a kit still takes some."""
    items = [row.line.item for row in progress.lines if row.to_pick]
    return list({i.pk: i for i in items if i.tracking == Tracking.SERIAL}.values())


class _Bagged:
    """The bags made ahead that a kit takes whole; the loose shelves hold the rest."""

    def __init__(
        self,
        kit: Kit,
        lines: Sequence[LineProgress],
        shelves: dict[int, list[Spot]],
        made: OnShelves,
        gone: set[int],
    ) -> None:
        """gone: places of bags that others take; those that this kit takes are added."""
        needed: dict[int, int] = defaultdict(int)
        for row in lines:
            needed[row.line.item_id] += row.to_pick
        wanted = {pk: n for pk, n in needed.items() if n}
        taken = bags.to_take(wanted, kit.job.date, made, gone)
        places = {bag.place.pk for bag in taken}
        gone |= places
        self._spots: dict[int, list[Spot]] = defaultdict(list)
        for item, spots in shelves.items():
            self._spots[item] = [spot for spot in spots if spot.place.pk in places]
            shelves[item] = [spot for spot in spots if spot.place.pk not in places]

    def take(self, item: int, needed: int) -> list[Source]:
        """Take from the bags what one line needs of an item."""
        taken = _take(self._spots[item], needed) if needed else []
        return [replace(source, kind="bag") for source in taken if source.kind == "shelf"]


def _carried(spots: list[Spot], needed: int) -> list[Source]:
    """What a line takes of the crew's own bags and of the van: one source for each of these.

    A tool may lie in another kit's parcel, where that van's earlier visit takes it along.
    """
    parts = _take(spots, needed)
    by_place: dict[int, Source] = {}
    for part in parts:
        own = part.place is not None and is_own_bag(part.place)
        key = part.place.pk if own and part.place is not None else 0  # 0: the van
        before = by_place.get(key, Source("van", 0, part.place))
        by_place[key] = replace(before, quantity=before.quantity + part.quantity)
    return list(by_place.values())


def _cut(cut: Cut) -> Source:
    if cut.spot is None:
        return Source("short", cut.piece)
    spot = cut.spot
    note = "" if cut.sure else UNMEASURED
    return Source(
        "shelf", cut.piece, spot.place, spot.lot, note=note, stick=cut.kind, room=cut.room
    )


def _take(spots: list[Spot], needed: int) -> list[Source]:
    """Take from the front of the spots; what they held is no longer there for the next line."""
    parts = []
    while needed and spots:
        spot = spots.pop(0)
        part = min(spot.quantity, needed)
        parts.append(Source("shelf", part, spot.place, spot.lot, spot.unit, note=spot.note))
        needed -= part
        if part < spot.quantity:
            spots.insert(0, Spot(spot.place, spot.lot, spot.quantity - part, spot.unit))
    if needed:
        parts.append(Source("short", needed))
    return parts
