"""The pick sheet: for the warehouse, bin by bin, with a code and a box to tick on every line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from django.utils import timezone
from reportlab.platypus import Flowable

from inventory.models import Item, Place, PlaceKind, Tracking
from inventory.queries import latest_mark
from inventory.scanning import meaning_themselves
from inventory.words import amount
from kitting import families, overviews, signing, sourcing
from kitting.models import Kit, KitLine, Package
from kitting.overviews import Stop
from kitting.packing import in_a_bag
from kitting.plan.van import SHARE_KG
from kitting.printing import paper, parts, said
from kitting.printing.local import say, with_weekday
from kitting.printing.parts import Cell, words
from kitting.snapshot import step_titles
from kitting.sourcing import Source

COLUMNS = ("", "Where", "How many", "Item", "Goes into", "Code")
SHARES = (0.06, 0.17, 0.14, 0.35, 0.16, 0.12)
"""Of the width."""
NAMED = 12
"""Serials named on a row; any other of the kind counts as well."""
PER_ROW = 3
"""Bags to a row of their codes."""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing to take, or to look for."""

    line: KitLine
    quantity: int
    where: str  # "": not known
    source: Source | None = None
    stays: bool = False  # nobody picks it
    serials: tuple[str, ...] = ()
    """Of things the book proposes; any other of the kind counts as well."""


def pdf(kit: Kit, size: str) -> bytes:
    """The pick sheet of a kit. size: one of paper.SIZES. Raises LabelUnreadable."""
    wide = paper.width(size)
    running = paper.Running(
        f"Pick sheet {kit.code}", when_and_van(kit), paper.mark_words(latest_mark())
    )
    return paper.written(_Sheet(kit, wide).content(), running, size)


def when_and_van(kit: Kit) -> str:
    """Day, hour and van in one line."""
    job = kit.job
    leaves = f"{timezone.localtime(job.leaves_at):%H:%M}" if job.leaves_at else ""
    hour = f", {say('leaves {0}', leaves)}" if leaves else ""
    van = f", {job.van.name}" if job.van else ""
    return f"{with_weekday(job.date)}{hour}{van}"


class _Sheet:
    """The parts of one pick sheet."""

    def __init__(self, kit: Kit, wide: float) -> None:
        self.kit, self.wide = kit, wide
        self.walk = overviews.bare_walk(kit)
        self.known = said.known_items(kit)
        self.scans = meaning_themselves(row.line.item for row in self.walk.progress.lines)
        self.axes = families.family_of(kit.edition).axes
        self.titles = step_titles(kit)
        packages = kit.packages.exclude(kind=Package.Kind.LOAD).select_related("place__parent")
        self.packages = list(packages.order_by("kind", "number"))

    def content(self) -> list[Flowable]:
        """All of it, in the order of the work."""
        taken = _joined(_of_stop(stop) for stop in self.walk.stops)
        sought = [_of_stop(stop) for stop in self.walk.short]
        return [
            *self._head(),
            *self._told(),
            *self._part("Take from the shelves", "In the order of the walk.", _needed(taken)),
            *self._part(
                "Look for",
                "No bin is known for these. What lies there all the same is taken: the hand wins.",
                _needed(sought),
            ),
            *self._part(
                "Spares", "Taken besides; what is not used comes back.", _spare([*taken, *sought])
            ),
            *self._part("Not to be picked", "Look that it is there.", self._elsewhere()),
            *self._part("Packed before this sheet was printed", "", self._packed()),
            *self._checks(),
            *self._end(),
            *self._bags(),
        ]

    def _head(self) -> list[Flowable]:
        kit, job = self.kit, self.kit.job
        bay = next((one.place.name for one in self.packages if one.kind == Package.Kind.BAY), "")
        leaves = f"{timezone.localtime(job.leaves_at):%H:%M}" if job.leaves_at else ""
        rows = [
            ("Day", f"{job.date:%A} {job.date.day} {job.date:%B %Y}"),
            ("Leaves at", leaves),
            ("Van", job.van.name if job.van else ""),
            ("Pack at", bay),
            ("Crew", ", ".join(person.name for person in job.crew.order_by("name"))),
            ("Job", job.get_kind_display()),
        ]
        return [
            words(f"Pick {kit.code}", "huge", heavy=True),
            parts.gap(8),
            parts.facts(rows, self.wide),
        ]

    def _told(self) -> list[Flowable]:
        """What stands in the way, said before anybody walks."""
        kit, told = self.kit, []
        short = [] if kit.closed_by_id else sourcing.shortages(kit, self.walk.progress)
        known = [overviews.short_words(one) for one in short if one.known]
        unsure = len(short) - len(known)
        if kit.released_at is None:
            told.append(
                "Not released yet: no bay, parcel or bag is named, and it may still change."
            )
            told += said.still_open(kit)
        told += said.to_come(kit)
        told += [f"Short: {one}" for one in known]
        if unsure:
            told.append(f"{unsure} of the items were never counted here: look for them.")
        if kit.job.cancelled_at is not None:
            told.insert(0, said.CANCELLED)
        told += [
            f"Too many, back to the shelf: {amount(total.left_over, total.item)}"
            for total in self.walk.progress.to_put_back
        ]
        told += [f"By hand: {one}" for one in said.dropped(kit)]
        told += said.taken_both(kit)
        if not told:
            return []
        lines = [words(one, "item", heavy=one.startswith("Short")) for one in told]
        return [parts.gap(6), parts.boxed(lines, self.wide)]

    def _part(self, title: str, more: str, rows: Sequence[Row]) -> list[Flowable]:
        if not rows:
            return []
        widths = [self.wide * share for share in SHARES]
        cells = [self._cells(row, widths) for row in rows]
        return [
            parts.room(110),
            *parts.heading(title, more),
            parts.table(COLUMNS, cells, widths),
        ]

    def _cells(self, row: Row, widths: Sequence[float]) -> list[Cell]:
        item = row.line.item
        count, opened = said.quantity(row.quantity, item, self.known.get(item.code))
        much: list[Flowable] = [words(count, "count", heavy=True)]
        if opened:
            much.append(words(opened, "small"))
        return [
            parts.Tick(),
            words(row.where, "item", heavy=True) if row.where else parts.Blank(widths[1] - 12),
            much,
            self._item(row),
            words("stays there" if row.stays else self._into(row.line), "text"),
            said.code_of(item, scans=item.pk in self.scans),
        ]

    def _item(self, row: Row) -> list[Flowable]:
        item, source = row.line.item, row.source
        told: list[Flowable] = [
            words(item.name[:1].upper() + item.name[1:], "item"),
            words(item.code, "small"),
        ]
        if row.serials:
            named = ", ".join(row.serials[:NAMED])
            told.append(words(f"{named} or another", "small"))
        if source is not None and source.lot is not None and source.lot.number:
            named = "cut from" if source.stick else "batch"
            told.append(words(f"{named} {source.lot.number}", "small"))
        told += [words(one, "small", heavy=True) for one in said.notes(row.line, self.axes)]
        told += [words(one, "small") for one in self._due(item, source)]
        if item.unit == "piece" and item.mass_g > SHARE_KG * said.G_PER_KG:
            heavy = said.kilograms(item.mass_g)
            told.append(words(f"{heavy} each: above one person's {SHARE_KG} kg", "small"))
        return told

    def _due(self, item: Item, source: Source | None) -> list[str]:
        """When a tool must be tested again; a line to write it where the book does not know."""
        if item.tracking != Tracking.TOOL:
            return []
        lot = source.lot if source is not None else None
        if lot is not None and lot.expires_on is not None:
            return [f"test due {lot.expires_on.day} {lot.expires_on:%b %Y}"]
        known = self.known.get(item.code)
        tested = (known is not None and known.expires) or "tested" in item.name
        return ["test due: ______________"] if tested else []

    def _into(self, line: KitLine) -> str:
        """The bag of its step, or the bay."""
        if in_a_bag(line.item):
            for one in self.packages:
                if one.kind == Package.Kind.BAG and one.step == line.step:
                    return one.place.name
            return self._title(line)
        return "the bay" if self.packages else self._title(line)

    def _title(self, line: KitLine) -> str:
        return self.titles.get(line.step, line.step)

    def _elsewhere(self) -> list[Row]:
        found = []
        for stop in self.walk.elsewhere:
            source = stop.source
            box = f"in the box of {source.box_of.name}" if source.box_of else f"{source.look}: look"
            found.append(Row(stop.line, source.quantity, box, source, stays=True))
        return found

    def _packed(self) -> list[Row]:
        return [
            Row(row.line, row.picked, "packed", None)
            for row in self.walk.progress.lines
            if row.picked
        ]

    def _checks(self) -> list[Flowable]:
        signed = [check for check in signing.checks(self.kit) if check.in_words]
        if not signed:
            return []
        cells = [
            [parts.Tick(), words(check.asked), words(check.answer, "item", heavy=True)]
            for check in signed
        ]
        widths = [self.wide * share for share in (0.06, 0.54, 0.4)]
        return [
            *parts.heading("Seen to by a person", "The parts list does not say these."),
            parts.table(("", "Asked", "What was seen to"), cells, widths),
        ]

    def _bags(self) -> list[Flowable]:
        """Bay, parcels and bags with their codes, for labels that came off."""
        if not self.packages:
            return []
        cells: list[Cell] = [self._bag(one.place) for one in self.packages]
        cells += [""] * (-len(cells) % PER_ROW)
        grid = [cells[n : n + PER_ROW] for n in range(0, len(cells), PER_ROW)]
        return [
            parts.room(110),
            *parts.heading("Bay, parcels and bags", "Scan a parcel to load it."),
            parts.grid(grid, self.wide),
        ]

    def _bag(self, place: Place) -> list[Flowable]:
        kind = place.kind if place.kind in ("parcel", "bag") else "place"
        code = parts.Code(kind, place.code)
        told = [words(place.name, "text", heavy=True), words(place.code, "small")]
        return [parts.beside(code, told, self.wide / PER_ROW - 6)]

    def _end(self) -> list[Flowable]:
        rows = ("Picked by", "Checked by", "Loaded by")
        return [parts.together(*parts.heading("Who"), parts.signatures(rows, self.wide))]


def _of_stop(stop: Stop) -> Row:
    shelf = stop.shelf
    boxed = ", in its box" if shelf is not None and stop.place != shelf else ""
    if stop.place is not None and stop.place.kind == PlaceKind.BAG:
        boxed = f", in {stop.place.name}" + ("" if stop.source.kind == "bag" else ": open it")
    where = f"{shelf.name}{boxed}" if shelf else ""
    serials = (stop.source.unit.serial,) if stop.source.unit is not None else ()
    return Row(stop.line, stop.source.quantity, where, stop.source, serials=serials)


def _joined(rows: Iterable[Row]) -> list[Row]:
    """Things with serials that stand at one place for one line are one row."""
    found: list[Row] = []
    for row in rows:
        last = found[-1] if found else None
        if last and row.serials and (last.line, last.where) == (row.line, row.where):
            more = (*last.serials, *row.serials)
            found[-1] = replace(last, quantity=last.quantity + row.quantity, serials=more)
        else:
            found.append(row)
    return found


def _needed(rows: Iterable[Row]) -> list[Row]:
    return [row for row in rows if not row.line.spare]


def _spare(rows: Iterable[Row]) -> list[Row]:
    return [row for row in rows if row.line.spare]
