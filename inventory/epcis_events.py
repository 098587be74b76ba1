"""What happened to things, as events of EPCIS 2.0 for those outside who read that.

Told is what moved, was looked at, was recalled or let go again, and stands (its words:
epcis_steps); an undone event is told with its error. Not told: who did it, and what was scanned
without anything known of it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from inventory.codes.epcis import faults_of_event
from inventory.epcis_names import Names, place_name
from inventory.epcis_steps import CUT, FREED, FREEING, RECALLED, STEPS, Shape
from inventory.models import (
    ContainerMove,
    Event,
    Hold,
    HoldRelease,
    Lot,
    Movement,
    NoticeHit,
    Outcome,
    Place,
    PlaceKind,
    Scan,
    Unit,
)
from inventory.models.places import MOVABLE
from inventory.stock_on import home_zone

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
AT_ONCE = 500  # events read from the database at a time
LOOKED_AT = frozenset({"applied", "noted", "problem"})  # verdicts: not what was stopped or waits


@dataclass(slots=True)
class Moved:
    """What went from one place to another in an event, or was looked at where it stood."""

    start: Place | None = None
    to: Place | None = None
    units: list[Unit] = field(default_factory=list)
    boxes: list[Place] = field(default_factory=list)
    lots: list[tuple[Lot, int]] = field(default_factory=list)  # base units; 0: nobody counted

    def __bool__(self) -> bool:
        return bool(self.units or self.boxes or self.lots)

    def add(self, one: Unit | Lot | Place | None) -> None:
        """Take one more thing in, as it is looked at."""
        if isinstance(one, Unit):
            self.units.append(one)
        elif isinstance(one, Lot):
            self.lots.append((one, 0))
        elif one is not None:
            self.boxes.append(one)


def document(told: Iterable[dict[str, object]], now: datetime) -> Iterator[str]:
    """Return the text of a document of events as they are told, a part for each and a last one.

    Raises ValueError where one of them is not EPCIS 2.0.
    """
    head = {
        "@context": [CONTEXT],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": _moment(now),
    }
    before = f'{json.dumps(head)[:-1]}, "epcisBody": {{"eventList": ['
    for number, one in enumerate(told):
        faults = faults_of_event(number, one)
        if faults:
            raise ValueError(faults[0])
        yield f"{before}\n{json.dumps(one, ensure_ascii=False)}"
        before = ","
    yield f"{'' if before == ',' else before}\n]}}}}\n"


def told(events: QuerySet[Event], of: Unit | Lot | None = None) -> Iterator[dict[str, object]]:
    """Return the events as EPCIS tells them; one of ours may be several.

    of: tell of this thing alone, and of the boxes that it lay in.
    """
    names, home, only = Names(), home_zone(), _Only(of)
    recalls = Exists(NoticeHit.objects.filter(hold__event=OuterRef("pk")))
    whole = events.filter(Q(step__in={*STEPS, *FREEING}) | Q(recalls)).order_by("number")
    whole = whole.select_related("reversed_by__event").prefetch_related(*_moves())
    for event in whole.iterator(chunk_size=AT_ONCE):
        # Numbered before others are left out: an event has one id, however it is asked for.
        for number, (moved, shape) in enumerate(_shaped(event), 1):
            kept = only.of(moved)
            if kept:
                yield _told(event, kept, shape, number, names, home)
        made = _cut(event)
        if made is not None and any(map(only.of, made)):
            yield _transformed(event, *made, names, home)


def _shaped(event: Event) -> Iterator[tuple[Moved, Shape]]:
    shapes = STEPS.get(event.step, ())
    for moved in _moved(event) or _looked_at(event):
        yield from ((moved, shape) for shape in shapes if shape.fits(moved.start, moved.to))
    recalled, freed = Moved(), Moved()
    for hold in event.holds.all():
        if hasattr(hold, "hit"):
            recalled.add(hold.unit or hold.lot or hold.place)
    for release in event.hold_releases.all() if event.step in FREEING else ():
        if _free(release):
            freed.add(release.hold.unit or release.hold.lot or release.hold.place)
    yield from (pair for pair in ((recalled, RECALLED), (freed, FREED)) if pair[0])


def _free(release: HoldRelease) -> bool:
    """Say whether nothing else kept it set aside from then on; of its holds the last one tells."""
    hold, number = release.hold, release.event.number
    same = {"unit": hold.unit_id, "lot": hold.lot_id, "place": hold.place_id}
    others = Hold.objects.filter(**same, event__number__lt=number).exclude(
        release__event__number__lt=number
    )
    return others.exclude(release__event=release.event, pk__lte=hold.pk).count() == 0


def _moves() -> tuple[Prefetch[str], ...]:
    """What is asked of an event, fetched with it."""
    movements = Movement.objects.select_related(
        "unit__item", "lot__item", "from_place__parent", "to_place__parent"
    )
    containers = ContainerMove.objects.select_related(
        "place", "from_parent__parent", "to_parent__parent"
    )
    on = ("unit__item", "lot__item", "place")
    releases = HoldRelease.objects.select_related("event", *(f"hold__{one}" for one in on))
    return (
        Prefetch("movements", movements.order_by("pk")),
        Prefetch("container_moves", containers.order_by("pk")),
        Prefetch("scan", Scan.objects.select_related("unit__item", "place")),
        Prefetch("outcomes", Outcome.objects.order_by("number")),
        Prefetch("holds", Hold.objects.select_related("hit", *on).order_by("pk")),
        Prefetch("hold_releases", releases.order_by("pk")),
    )


def _moved(event: Event) -> list[Moved]:
    """Return what moved in an event; what was cut away is told with what was made of it."""
    found: dict[tuple[int | None, int], Moved] = {}
    for row in event.movements.all():
        ends = row.from_place_id, row.to_place_id
        moved = found.setdefault(ends, Moved(row.from_place, row.to_place))
        if row.unit is not None:
            moved.units.append(row.unit)
        else:
            moved.lots.append((row.lot, row.quantity))
    for move in event.container_moves.all():
        carried = move.from_parent_id, move.to_parent_id
        moved = found.setdefault(carried, Moved(move.from_parent, move.to_parent))
        moved.boxes.append(move.place)
    return [one for one in found.values() if one.to is None or one.to.kind != PlaceKind.CUT]


def _looked_at(event: Event) -> list[Moved]:
    """Return the single thing that was scanned; of what lies by number there is no telling.

    Where that was is not told: its place is where it stands now.
    """
    scan = getattr(event, "scan", None)
    if scan is None or list(event.outcomes.all())[-1].verdict not in LOOKED_AT:
        return []
    box = scan.place if scan.place is not None and scan.place.kind in MOVABLE else None
    seen = Moved()
    seen.add(scan.unit or box)
    return [seen] if seen else []


def _cut(event: Event) -> tuple[Moved, Moved] | None:
    """Return of what pieces were cut in an event, and the pieces; None where nothing was."""
    away, made = Moved(), Moved()
    for row in event.movements.all():
        if row.to_place.kind == PlaceKind.CUT:
            away.lots.append((row.lot, row.quantity))
        elif row.from_place.kind == PlaceKind.CUT:
            made.lots.append((row.lot, row.quantity))
    return (away, made) if away and made else None


class _Only:
    """What is told of: everything, or one thing with the boxes that it lay in."""

    def __init__(self, of: Unit | Lot | None) -> None:
        self.thing = of
        self.boxes: set[int] = set()
        if of is not None:
            moves = Movement.objects.filter(**{"unit" if isinstance(of, Unit) else "lot": of})
            self._lay_in(set(moves.values_list("to_place", flat=True)))

    def _lay_in(self, places: set[int]) -> None:
        """In a box, and in what that was carried in."""
        rows = Place.objects.filter(pk__in=places, kind__in=MOVABLE)
        boxes = set(rows.values_list("pk", flat=True)) - self.boxes
        self.boxes |= boxes
        if boxes:
            carried = ContainerMove.objects.filter(place__in=boxes)
            self._lay_in({*carried.values_list("to_parent", flat=True)})

    def of(self, moved: Moved) -> Moved:
        """Return of this what is told."""
        if self.thing is None:
            return moved
        return replace(
            moved,
            units=[unit for unit in moved.units if self.thing in (unit, unit.lot)],
            lots=[pair for pair in moved.lots if pair[0] == self.thing],
            boxes=[box for box in moved.boxes if box.pk in self.boxes],
        )


def _head(event: Event, shape: Shape, number: int, home: ZoneInfo) -> dict[str, object]:
    """The first of our event's bears its id, others one made of that."""
    return {
        "type": shape.type,
        "eventID": _id(event.uid, number),
        "eventTime": _moment(event.device_time),
        "recordTime": _moment(event.received_at),
        "eventTimeZoneOffset": _offset(event.device_time, home),
        "bizStep": shape.step,
        "disposition": shape.disposition,
    }


def _told(
    event: Event, moved: Moved, shape: Shape, number: int, names: Names, home: ZoneInfo
) -> dict[str, object]:
    """Return one event of EPCIS."""
    children = shape.type != "ObjectEvent"
    one = _head(event, shape, number, home) | {"action": shape.action}
    parent = moved.to if shape.action == "ADD" else moved.start
    if children and parent is not None:
        one["parentID"] = place_name(parent.within(PlaceKind.VAN) or parent)
    single = [*map(names.unit, moved.units), *map(place_name, moved.boxes)]
    if single:
        one["childEPCs" if children else "epcList"] = single
    if moved.lots:
        one["childQuantityList" if children else "quantityList"] = names.lots(moved.lots)
    if shape.disposition == "damaged":
        one["persistentDisposition"] = {"set": ["damaged"]}
    if moved.to is not None and moved.to.kind not in MOVABLE and not moved.to.outside:
        one["readPoint"] = {"id": place_name(moved.to)}
    # What a recall set aside stays so, whatever becomes of the scan that showed it.
    return one if shape is RECALLED else one | _error(event)


def _transformed(
    event: Event, away: Moved, made: Moved, names: Names, home: ZoneInfo
) -> dict[str, object]:
    """Return pieces that were cut off a batch; a TransformationEvent has no action."""
    one = _head(event, CUT, 0, home)
    one["inputQuantityList"] = names.lots(away.lots)
    one["outputQuantityList"] = names.lots(made.lots)
    return one | _error(event)


def _error(event: Event) -> dict[str, object]:
    undone = getattr(event, "reversed_by", None)
    if undone is None:
        return {}
    at = _moment(undone.event.received_at)
    return {"errorDeclaration": {"declarationTime": at, "reason": "incorrect_data"}}


def _id(uid: UUID, number: int) -> str:
    return f"urn:uuid:{uid if number == 1 else uuid5(uid, str(number))}"


def _moment(when: datetime) -> str:
    return when.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _offset(when: datetime, home: ZoneInfo) -> str:
    shift = when.astimezone(home).strftime("%z")
    return f"{shift[:3]}:{shift[3:5]}"
