"""What came of a delivery, read from its events: boxes, bad ones, photos, serials; and the slip."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Q, QuerySet

from inventory.codes.serials import look_up_key
from inventory.ledger.line import Line, parse
from inventory.models import (
    ContainerMove,
    Delivery,
    Event,
    Finding,
    ListedSerial,
    Movement,
    Unit,
)
from inventory.models.places import PlaceKind

BAD = {
    "crushed": "crushed",
    "wet": "wet",
    "open": "torn open or taped again",
    "tilted": "tilt mark has changed",
    "shock": "shock mark has changed",
    "other": "damaged",
}
TELLING = ("bad_box", "refuse_box")  # told twice, the second counts when the first is undone


@dataclass(frozen=True, slots=True)
class Bad:
    """One box that came bad, or was not taken."""

    event: Event
    text: str  # its code, empty if nobody scanned it
    kind: str  # key of BAD
    photo: str  # SHA-256, empty for none

    @property
    def words(self) -> str:
        """What is wrong with it."""
        return BAD.get(self.kind, BAD["other"])

    def same_box(self, other: Bad) -> bool:
        """Whether both name one box by its code; a box without a code is like no other."""
        key = look_up_key(self.text)
        return bool(key) and look_up_key(other.text) == key

    def again(self, before: Iterable[Bad]) -> bool:
        """Whether one of these is about the same box."""
        return any(self.same_box(one) for one in before)


@dataclass(slots=True)
class Door:
    """How a delivery stands."""

    delivery: Delivery
    came: int | None = None  # boxes counted at the door; None: nobody counted yet
    bad: list[Bad] = field(default_factory=list)
    later: list[Bad] = field(default_factory=list)  # found bad when the driver had gone
    refused: list[Bad] = field(default_factory=list)
    sides: list[str] = field(default_factory=list)  # photos of pallet sides, SHA-256
    gone_at: datetime | None = None  # when the driver left, by the server's clock
    boxes_in: int = 0  # boxes scanned in so far

    @property
    def missing(self) -> int:
        """Boxes on the note that did not come."""
        return max(self.delivery.boxes - self.came, 0) if self.came is not None else 0

    @property
    def to_scan(self) -> int:
        """Boxes that stand here and are not scanned yet."""
        return max((self.came or 0) - len(self.refused) - self.boxes_in, 0)

    @property
    def slip(self) -> list[str]:
        """The remark to write on the driver's slip, line by line; empty before the count."""
        if self.came is None:
            return []
        boxes = self.delivery.boxes
        first = f"{self.came} of {boxes} boxes"
        if self.missing:
            first += f", {self.missing} missing"
        elif self.came > boxes:
            first += f", {self.came - boxes} more than on the note"
        lines = [f"{first}."]
        if self.bad:
            lines.append(f"{_boxes(self.bad)} damaged outside: {_kinds(self.bad)}. Photos taken.")
        if self.refused:
            lines.append(f"{_boxes(self.refused)} not accepted: {_kinds(self.refused)}.")
        if not self.bad and not self.refused:
            lines.append("Boxes whole outside.")
        return [*lines, "Contents not checked."]


def _boxes(bad: list[Bad]) -> str:
    return "1 box" if len(bad) == 1 else f"{len(bad)} boxes"


def _kinds(bad: list[Bad]) -> str:
    return ", ".join(dict.fromkeys(one.words for one in bad))


def door(delivery: Delivery) -> Door:
    """Return how a delivery stands, in some three queries."""
    found = Door(delivery)
    for event, line in standing_events(delivery):
        if event.step == "count_boxes":
            found.came = line.quantity or 0
        elif event.step == "pallet_photo":
            found.sides.append(line.photo)
        elif event.step in TELLING:
            _told(found, event, line)
        elif event.step == "driver_gone":
            found.gone_at = event.received_at
    moves = ContainerMove.objects.filter(
        event__subject=delivery.subject, event__step="receive", event__reversed_by=None
    )
    moves = moves.filter(from_parent__kind=PlaceKind.SUPPLIER, place__kind=PlaceKind.CARTON)
    moves = moves.exclude(place__parent__kind=PlaceKind.CARRIER)  # refused after its scan
    found.boxes_in = moves.values("place").distinct().count()
    return found


def _told(found: Door, event: Event, line: Line) -> None:
    """Told again of the same box it counts once, as long as the first telling stands."""
    one = Bad(event, line.text or "", line.kind, line.photo)
    if event.step == "refuse_box":
        if not one.again(found.refused):
            found.refused.append(one)
        found.bad = [bad for bad in found.bad if not one.same_box(bad)]
    elif not one.again([b for b in (*found.bad, *found.later) if b.kind == one.kind]):
        (found.later if found.gone_at else found.bad).append(one)


def standing_events(delivery: Delivery) -> list[tuple[Event, Line]]:
    """Return the events at the door that were carried out and not undone, in ledger order."""
    events = Event.objects.filter(subject=delivery.subject, reversed_by=None)
    return _carried_out(events.exclude(step="receive"))


def _carried_out(events: QuerySet[Event]) -> list[tuple[Event, Line]]:
    return [
        (event, parse(event.line))
        for event in events.prefetch_related("outcomes").order_by("number")
        # The event that is being judged just now has no outcome yet.
        if any(_counts(event, o.verdict) for o in list(event.outcomes.all())[-1:])
    ]


def came_bad(deliveries: Iterable[Delivery]) -> dict[int, tuple[int, int]]:
    """Return delivery id -> boxes that came bad or were not accepted, and all that came, of those
    that were counted at the door; in two queries."""
    doors = {one.subject: Door(one) for one in deliveries}
    steps = ("count_boxes", *TELLING)
    events = Event.objects.filter(subject__in=doors, step__in=steps, reversed_by=None)
    for event, line in _carried_out(events):
        if event.step == "count_boxes":
            doors[event.subject].came = line.quantity or 0
        else:
            _told(doors[event.subject], event, line)
    found = {}
    for door_ in doors.values():
        if door_.came:
            # A box that is wet and torn is told twice and is one box.
            told: list[Bad] = []
            for one in (*door_.bad, *door_.later, *door_.refused):
                if not one.again(told):
                    told.append(one)
            found[door_.delivery.pk] = (min(len(told), door_.came), door_.came)
    return found


def _counts(event: Event, verdict: str) -> bool:
    return verdict in ("applied", "problem") or (verdict == "noted" and event.step in TELLING)


@dataclass(frozen=True, slots=True)
class Compared:
    """A supplier's serial file against what came, both ways."""

    listed: int
    came: int
    not_come: tuple[ListedSerial, ...]  # on the file, not here
    not_listed: tuple[Unit, ...]  # here, not on the file
    owed: tuple[Unit, ...]  # here, serial not known yet


def compared(delivery: Delivery) -> Compared:
    """Compare the file with the units that this delivery brought."""
    moved = Movement.objects.filter(
        event__subject=delivery.subject, event__reversed_by=None, unit__isnull=False
    ).filter(Q(event__step="receive"))
    # What had been scanned further on before anybody received it was confirmed where it stood.
    confirmed = Q(
        findings__answer__event__subject=delivery.subject,
        findings__answer__event__step="receive",
        findings__answer__event__reversed_by=None,
    )
    units = list(
        Unit.objects.filter(Q(movements__in=moved) | confirmed)
        .exclude(evidence="owed", place__kind=PlaceKind.SUPPLIER)  # its serial is known since
        .select_related("item")
        .distinct()
    )
    owed = tuple(unit for unit in units if unit.evidence == "owed")
    here = {(unit.item_id, unit.serial_key): unit for unit in units if unit.evidence != "owed"}
    listed = list(delivery.listed.current().select_related("item"))
    named = {(line.item_id, line.key) for line in listed}
    lacking = tuple(line for line in listed if (line.item_id, line.key) not in here)
    extra = tuple(unit for key, unit in here.items() if key not in named) if listed else ()
    return Compared(len(listed), len(here), lacking, extra, owed)


def findings(delivery: Delivery) -> list[Finding]:
    """Return the problems of a delivery, open ones first."""
    found = Finding.objects.filter(subject=delivery.subject).select_related("event", "answer")
    return sorted(found, key=lambda one: (hasattr(one, "answer"), one.pk))
