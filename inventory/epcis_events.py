"""What happened to things, as events of EPCIS 2.0 for those outside who read that.

Source of the words: GS1 Core Business Vocabulary 2.0, see tables/epcis_words.csv of codes.
Told is what moved or was looked at and stands; an undone event is told with its error. Not told:
who did it, what was scanned without anything known of it, and what a thing was not ("missing"),
for an event of EPCIS says what was seen.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from urllib.parse import quote
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet

from inventory.codes import gtin
from inventory.codes.characters import CSET82
from inventory.codes.check_digits import is_checked
from inventory.codes.epcis import faults_of_event
from inventory.models import (
    ContainerMove,
    Event,
    ItemCode,
    Lot,
    Movement,
    Outcome,
    Place,
    PlaceKind,
    Scan,
    Unit,
)
from inventory.models.places import MOVABLE
from inventory.models.things import Evidence
from inventory.stock_on import home_zone

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
AT_ONCE = 500  # events read from the database at a time
LOOKED_AT = frozenset({"applied", "noted", "problem"})  # verdicts: not what was stopped or waits
LONGEST = 20  # characters of a serial or batch in a GS1 key
MEASURES = {"mm": "MMT", "ul": "4G", "mm2": "MMK"}  # UN/ECE recommendation 20, from memory


@dataclass(frozen=True, slots=True)
class Shape:
    """How a step is told."""

    type: str
    action: str
    step: str
    disposition: str
    into: frozenset[str] = frozenset()  # only what went into such a place; empty: whatever moved
    out_of: frozenset[str] = frozenset()  # only what left such a place

    def fits(self, moved: Moved) -> bool:
        """Say whether this tells of that."""
        goes = not self.into or (moved.to is not None and moved.to.kind in self.into)
        left = not self.out_of or (moved.start is not None and moved.start.kind in self.out_of)
        return goes and left


@dataclass(slots=True)
class Moved:
    """What went from one place to another in an event, or was looked at where it stood."""

    start: Place | None
    to: Place | None
    names: list[str] = field(default_factory=list)  # addresses of single things
    counted: list[dict[str, object]] = field(default_factory=list)


_STACK = frozenset({PlaceKind.STACK})
_NO_STACK = frozenset(PlaceKind) - _STACK
_BOXES = frozenset(MOVABLE)
_LOADED = frozenset({PlaceKind.VAN, PlaceKind.BAY})  # loose things of a kit have a bay on the van
_FITTED = Shape("AssociationEvent", "ADD", "installing", "in_progress", into=_STACK)
_TAKEN = Shape("AssociationEvent", "DELETE", "removing", "in_progress", out_of=_STACK)
_BROKEN = Shape("AssociationEvent", "DELETE", "removing", "needs_replacement", out_of=_STACK)
_SEEN = Shape("AggregationEvent", "DELETE", "unpacking", "in_progress", out_of=_BOXES)


def _looked(step: str, disposition: str) -> tuple[Shape, ...]:
    return (Shape("ObjectEvent", "OBSERVE", step, disposition),)


STEPS: dict[str, tuple[Shape, ...]] = {
    "receive": _looked("receiving", "in_progress"),
    "put": _looked("storing", "in_progress"),
    "put_back": _looked("storing", "in_progress"),
    "pick": (
        *_looked("picking", "in_progress"),
        Shape("AggregationEvent", "ADD", "packing", "in_progress", into=_BOXES),
    ),
    "load": (Shape("AggregationEvent", "ADD", "loading", "in_progress", into=_LOADED),),
    "unbox": (_SEEN,),
    "fit": (_FITTED,),
    "commission": (_FITTED,),
    "find_standing": (_FITTED,),
    "swap": (_FITTED, _BROKEN),
    "take_down": (_TAKEN,),
    "bring_back": _looked("receiving", "returned"),
    "damaged": _looked("inspecting", "damaged"),
    "wrong": _looked("unpacking", "mismatch_class"),
    "surplus": _looked("unpacking", "mismatch_quantity"),
    "set_aside": _looked("holding", "unavailable"),
    "count": _looked("cycle_counting", "in_progress"),
    "bring_in": (
        _FITTED,
        Shape("ObjectEvent", "OBSERVE", "cycle_counting", "in_progress", into=_NO_STACK),
    ),
}


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


def told(events: QuerySet[Event]) -> Iterator[dict[str, object]]:
    """Return the events as EPCIS tells them; one of ours may be several."""
    names = _Names()
    home = home_zone()
    whole = events.filter(step__in=STEPS).order_by("number").select_related("reversed_by__event")
    for event in whole.prefetch_related(*_moves()).iterator(chunk_size=AT_ONCE):
        number = 0
        for moved in names.moved(event):
            for shape in STEPS[event.step]:
                if shape.fits(moved):
                    number += 1
                    yield _told(event, moved, shape, number, home)


def _moves() -> tuple[Prefetch[str], ...]:
    """What `_Names` asks of an event, fetched with it."""
    movements = Movement.objects.select_related(
        "unit__item", "lot__item", "from_place__parent", "to_place__parent"
    )
    containers = ContainerMove.objects.select_related(
        "place", "from_parent__parent", "to_parent__parent"
    )
    scans = Scan.objects.select_related("unit__item", "place")
    return (
        Prefetch("movements", movements.order_by("pk")),
        Prefetch("container_moves", containers.order_by("pk")),
        Prefetch("scan", scans),
        Prefetch("outcomes", Outcome.objects.order_by("number")),
    )


class _Names:
    """Addresses of things: GS1 keys where there is an article number, else ids of ours."""

    def __init__(self) -> None:
        codes = ItemCode.objects.filter(pack_quantity=1, label_pattern=False).order_by("-pk")
        known = codes.values_list("item_id", "text")
        pairs = [(item, gtin.normal(text)) for item, text in known if gtin.is_valid(text)]
        self.numbers = {item: number for item, number in pairs if not gtin.is_restricted(number)}

    def moved(self, event: Event) -> list[Moved]:
        """Return what moved in an event; where nothing did, what was looked at."""
        found: dict[tuple[int | None, int], Moved] = {}
        for row in event.movements.all():
            moved = found.setdefault(
                (row.from_place_id, row.to_place_id), Moved(row.from_place, row.to_place)
            )
            if row.unit is not None:
                moved.names.append(self.unit(row.unit))
            else:
                moved.counted.append(self.lot(row.lot, row.quantity))
        for move in event.container_moves.all():
            ends = move.from_parent_id, move.to_parent_id
            moved = found.setdefault(ends, Moved(move.from_parent, move.to_parent))
            moved.names.append(place_name(move.place))
        return list(found.values()) or self.looked_at(event)

    def looked_at(self, event: Event) -> list[Moved]:
        """Return the single thing that was scanned; of what lies by number there is no telling.

        Where that was is not told: its place is where it stands now.
        """
        scan = getattr(event, "scan", None)
        if scan is None or list(event.outcomes.all())[-1].verdict not in LOOKED_AT:
            return []
        if scan.unit is not None:
            return [Moved(None, None, [self.unit(scan.unit)])]
        if scan.place is not None and scan.place.kind in MOVABLE:
            return [Moved(None, None, [place_name(scan.place)])]
        return []

    def unit(self, unit: Unit) -> str:
        """Return the address of a single thing."""
        number = self.numbers.get(unit.item_id)
        if number is None or unit.evidence == Evidence.OWED or not _fits(unit.serial):
            return f"urn:uuid:{unit.uid}"
        return f"https://id.gs1.org/01/{number}/21/{quote(unit.serial, safe='')}"

    def lot(self, lot: Lot, quantity: int) -> dict[str, object]:
        """Return so many base units of a batch."""
        number = self.numbers.get(lot.item_id)
        name = f"urn:uuid:{lot.uid}"
        if number is not None and not lot.number:
            name = f"https://id.gs1.org/01/{number}"
        elif number is not None and _fits(lot.number):
            name = f"https://id.gs1.org/01/{number}/10/{quote(lot.number, safe='')}"
        counted: dict[str, object] = {"epcClass": name, "quantity": quantity}
        measure = MEASURES.get(lot.item.unit)
        return counted | {"uom": measure} if measure else counted


def _fits(name: str) -> bool:
    """Say whether GS1 takes it as a serial or batch: 20 characters of set 82."""
    return len(name) <= LONGEST and CSET82.issuperset(name)


def place_name(place: Place) -> str:
    """Return the address of a place or box: the number of a logistic unit where its code is one."""
    if len(place.code) == 18 and is_checked(place.code):
        return f"https://id.gs1.org/00/{place.code}"
    return f"urn:uuid:{place.uid}"


def _told(
    event: Event, moved: Moved, shape: Shape, number: int, home: ZoneInfo
) -> dict[str, object]:
    """Return one event of EPCIS; the first of ours bears its id, others one made of that."""
    children = shape.type != "ObjectEvent"
    one: dict[str, object] = {
        "type": shape.type,
        "eventID": _id(event.uid, number),
        "eventTime": _moment(event.device_time),
        "recordTime": _moment(event.received_at),
        "eventTimeZoneOffset": _offset(event.device_time, home),
        "action": shape.action,
        "bizStep": shape.step,
        "disposition": shape.disposition,
    }
    parent = moved.to if shape.action == "ADD" else moved.start
    if children and parent is not None:
        one["parentID"] = place_name(parent.within(PlaceKind.VAN) or parent)
    if moved.names:
        one["childEPCs" if children else "epcList"] = moved.names
    if moved.counted:
        one["childQuantityList" if children else "quantityList"] = moved.counted
    if shape.disposition == "damaged":
        one["persistentDisposition"] = {"set": ["damaged"]}
    if moved.to is not None and moved.to.kind not in MOVABLE and not moved.to.outside:
        one["readPoint"] = {"id": place_name(moved.to)}
    undone = getattr(event, "reversed_by", None)
    if undone is not None:
        one["errorDeclaration"] = {
            "declarationTime": _moment(undone.event.received_at),
            "reason": "incorrect_data",
        }
    return one


def _id(uid: UUID, number: int) -> str:
    return f"urn:uuid:{uid if number == 1 else uuid5(uid, str(number))}"


def _moment(when: datetime) -> str:
    return when.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _offset(when: datetime, home: ZoneInfo) -> str:
    shift = when.astimezone(home).strftime("%z")
    return f"{shift[:3]}:{shift[3:5]}"
