"""Several kits in one walk: bins in their order, what is heavy first, each line split by box."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from inventory.models import Item, ItemCode, Lot, Person, Place, Tracking
from kitting import parcels, sourcing
from kitting.access import jobs_of
from kitting.folding import fold_each
from kitting.models import Job, Kit, KitLine, Package
from kitting.overviews import shelf_of
from kitting.packing import HEAVY_G, in_a_bag
from kitting.shelves import Spot
from kitting.sourcing import Source
from kitting.tallies import Progress

MOST = 12  # kits of one walk: what two people push along


@dataclass(frozen=True, slots=True)
class Box:
    """One kit of the walk and the labels that its things may be confirmed by."""

    kit: Kit
    labels: tuple[str, ...]  # parcels and bay: the thing goes where its step says
    bags: tuple[str, ...]  # the thing goes into this very bag
    parcel: Place | None  # the one that is packed now

    @property
    def job(self) -> Job:
        """The job it is of."""
        return self.kit.job


@dataclass(slots=True)
class Share:
    """What one kit takes of a line."""

    kit: Kit
    quantity: int = 0  # base units
    into: dict[Place | None, int] = field(default_factory=dict)  # bag, None: bay -> base units
    serials: list[str] = field(default_factory=list)  # offered ones; another will do

    @property
    def told(self) -> list[tuple[Place | None, int]]:
        """Each bag with its part, where there is more than one."""
        return list(self.into.items()) if len(self.into) > 1 else []


@dataclass(slots=True)
class Line:
    """One item at one place, with what each kit takes of it."""

    shelf: Place
    place: Place
    item: Item
    kind: str  # shelf, or bag: made ahead, taken whole
    lot: Lot | None
    stick: str
    note: str
    keys: set[str] = field(default_factory=set)  # what its label may say, as look-up keys
    shares: dict[int, Share] = field(default_factory=dict)  # by kit id

    @property
    def heavy(self) -> bool:
        """Whether it goes first, below what is light."""
        return self.item.unit == "piece" and self.item.mass_g >= HEAVY_G

    @property
    def quantity(self) -> int:
        """All that is taken here, in base units."""
        return sum(share.quantity for share in self.shares.values())

    @property
    def counted(self) -> bool:
        """Whether a scan into a box says how many: not of a single thing, a length, a whole bag."""
        return self.kind == "shelf" and self.item.tracking != Tracking.SERIAL and not self.stick

    @property
    def split(self) -> list[Share]:
        """The shares by letter."""
        return sorted(self.shares.values(), key=lambda share: _letter(share.kit))


@dataclass(slots=True)
class Short:
    """One item that no shelf has for all, in base units."""

    item: Item
    by_letter: dict[str, int] = field(default_factory=dict)
    keys: set[str] = field(default_factory=set)  # as those of a line: it may lie there all the same

    @property
    def quantity(self) -> int:
        """What lacks in all."""
        return sum(self.by_letter.values())


@dataclass(frozen=True, slots=True)
class Shared:
    """A walk for several kits."""

    boxes: tuple[Box, ...]
    heavy: tuple[Line, ...]
    light: tuple[Line, ...]
    short: tuple[Short, ...]
    looked_at: tuple[tuple[Kit, KitLine, Source], ...]  # on the van, or in another thing's box

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines in the order they are walked."""
        return self.heavy + self.light


def _letter(kit: Kit) -> tuple[int, str]:
    return len(kit.letter), kit.letter


def kits_for(person: Person, codes: Iterable[str], day: date | None) -> list[Kit]:
    """Return the open kits with these codes, or of this day, that a person may pick; MOST."""
    kits = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    kits = kits.filter(job__in=jobs_of(person))
    kits = kits.filter(job__date=day) if day is not None else kits.filter(code__in=list(codes))
    whole = kits.select_related("job__van", "job__site__place")
    return list(whole.prefetch_related("job__van__carried").order_by("released_at", "pk")[:MOST])


def walk(kits: Sequence[Kit]) -> Shared:
    """Return the one walk through the bins for these kits, the oldest claim first."""
    progresses = fold_each(kits)
    lying = sourcing.stock_for(progresses)
    from_where = sourcing.sources_of(progresses, lying)
    packages = list(parcels.with_use(Package.objects.filter(kit__in=kits)))
    bags = {(one.kit_id, one.step): one.place for one in packages if one.kind == "bag"}
    lines: dict[tuple[object, ...], Line] = {}
    short: dict[int, Short] = {}
    looked_at = []
    for progress in progresses:
        for row, source in _rows(progress, from_where[progress.kit.pk]):
            if source.kind == "short":
                lacking = short.setdefault(row.item_id, Short(row.item)).by_letter
                letter = progress.kit.letter
                lacking[letter] = lacking.get(letter, 0) + source.quantity
            elif source.place is None or source.kind not in ("shelf", "bag"):
                looked_at.append((progress.kit, row, source))
            else:
                bag = bags.get((progress.kit.pk, row.step)) if in_a_bag(row.item) else None
                _add(lines, progress.kit, row, source, bag)
    found = sorted(lines.values(), key=_order)
    _name([*(line for line in found if line.kind != "bag"), *short.values()])
    _name_others(found, lying)
    return Shared(
        _boxes(kits, packages),
        tuple(line for line in found if line.heavy),
        tuple(line for line in found if not line.heavy),
        tuple(short.values()),
        tuple(looked_at),
    )


def _rows(progress: Progress, sources: dict[int, list[Source]]) -> Iterable[tuple[KitLine, Source]]:
    for row in progress.lines:
        for source in sources.get(row.line.pk, ()):
            yield row.line, source


def _add(
    lines: dict[tuple[object, ...], Line],
    kit: Kit,
    row: KitLine,
    source: Source,
    bag: Place | None,
) -> None:
    """Lay one kit's part onto the line of its place. Things with serials share their bin's line."""
    assert source.place is not None, "what lies on a shelf has a place"
    shelf = shelf_of(source.place) or source.place
    single = row.item.tracking == Tracking.SERIAL
    place = shelf if single else source.place
    lot = None if single else source.lot
    whole = (kit.pk,) if source.kind == "bag" else ()
    key = (place.pk, row.item_id, lot.pk if lot else 0, source.stick, *whole)
    line = lines.setdefault(
        key, Line(shelf, place, row.item, source.kind, lot, source.stick, source.note)
    )
    share = line.shares.setdefault(kit.pk, Share(kit))
    share.quantity += source.quantity
    share.into[bag] = share.into.get(bag, 0) + source.quantity
    if source.unit is not None:
        share.serials.append(source.unit.serial)
        line.keys |= {source.unit.serial, source.unit.serial_key, source.place.code}
    if source.kind == "bag":
        line.keys.add(source.place.code)
    elif source.lot is not None and source.lot.key:
        line.keys |= {source.lot.key, source.lot.number}


def _order(line: Line) -> tuple[object, ...]:
    bag = line.place.code if line.kind == "bag" else "~"
    return (line.shelf.order, line.shelf.code, bag, -line.item.mass_g, line.item.code)


def _name(lines: Sequence[Line | Short]) -> None:
    """Write down what may be printed on each thing: article numbers, the item's own code."""
    items = {line.item.pk: line.item for line in lines}
    codes: dict[int, set[str]] = {pk: {item.code} for pk, item in items.items()}
    printed = ItemCode.objects.filter(item__in=items, label_pattern=False)
    for item, key in printed.values_list("item", "key"):
        codes[item].add(key)
    for line in lines:
        line.keys |= codes[line.item.pk]


def _name_others(lines: Iterable[Line], lying: Mapping[int, list[Spot]]) -> None:
    """Write down each thing in the bin and its box: another than the one offered will do."""
    for line in lines:
        for spot in lying.get(line.item.pk, ()):
            if spot.unit is not None and (shelf_of(spot.place) or spot.place) == line.shelf:
                line.keys |= {spot.unit.serial, spot.unit.serial_key, spot.place.code}


def _boxes(kits: Iterable[Kit], packages: Iterable[Package]) -> tuple[Box, ...]:
    found = []
    for kit in sorted(kits, key=_letter):
        mine = [one for one in packages if one.kit_id == kit.pk]
        bags = tuple(one.place.code for one in mine if one.kind == Package.Kind.BAG)
        labels = (Package.Kind.PARCEL, Package.Kind.BAY)
        codes = tuple(one.place.code for one in mine if one.kind in labels)
        found.append(Box(kit, codes, bags, parcels.packed_now(mine)))
    return tuple(found)
