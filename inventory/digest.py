"""One SHA-256 over the state, the same on every database, after a replay and after a restore.

No database ids, no receive times and no ids that the server drew: things are named by their codes
and serials, events by the ids that the clients gave them. Every other column of every table counts:
tests/test_digest.py names those that do not, each with its reason.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from datetime import timedelta
from typing import Any

from django.db.models import Max

from inventory.models import (
    Amendment,
    BoxDoubt,
    BroughtFile,
    BroughtPart,
    CartonContent,
    Charge,
    ChargeRule,
    Claim,
    ClaimDue,
    ClaimStep,
    Clock,
    ContainerMove,
    Delivery,
    Device,
    DeviceGap,
    Event,
    Finding,
    Hold,
    Holding,
    Item,
    ItemCode,
    Kept,
    ListedSerial,
    Lot,
    Movement,
    OrderLine,
    Outcome,
    Partner,
    PartnerNeed,
    Person,
    Place,
    Return,
    ReturnRule,
    ReturnStep,
    Reversal,
    Unit,
    UnitAlias,
)

Row = tuple[Any, ...]
"""Plain values: what JSON can write, UUIDs and dates."""
Section = Callable[[], Iterable[Row]]
_SECTIONS: dict[str, Section] = {}


def register_section(name: str, rows: Section) -> None:
    """Let the upper house's state count: rows of plain values, without database ids."""
    if _SECTIONS.setdefault(name, rows) is not rows:
        raise ValueError(f"two sections named {name}")


def digest() -> str:
    """Return the SHA-256 of the canonical state, hex."""
    total = hashlib.sha256()
    for line in state():
        total.update(line.encode() + b"\n")
    return total.hexdigest()


def state() -> Iterator[str]:
    """Return the lines that are hashed: per section its name, then its rows in text order."""
    for name, rows in sorted((_OWN | _SECTIONS).items()):
        yield f"# {name}"
        yield from sorted(canonical(row) for row in rows())


def canonical(value: object) -> str:
    """Return a value as JSON that is the same on every database."""
    return json.dumps(value, default=str, ensure_ascii=False, sort_keys=True)


def _outcomes() -> Iterable[Row]:
    """The latest of each event: those before it depend on what came when."""
    last = Event.objects.annotate(last=Max("outcomes__number")).values("last")
    rows = Outcome.objects.filter(number__in=last)
    return rows.values_list("event__uid", "verdict", "sentence").iterator(chunk_size=2000)


def _movements() -> Iterator[Row]:
    rows = Movement.objects.order_by("pk").values_list(
        "event__uid",
        "lot__item__code",
        "lot__key",
        "unit__serial_key",
        "from_place__code",
        "to_place__code",
        "quantity",
    )
    return numbered(rows.iterator(chunk_size=2000))


def _container_moves() -> Iterator[Row]:
    rows = ContainerMove.objects.order_by("pk").values_list(
        "event__uid", "place__code", "from_parent__code", "to_parent__code"
    )
    return numbered(rows.iterator(chunk_size=2000))


def numbered(rows: Iterable[Row]) -> Iterator[Row]:
    """Give each row its place among those with the same first value, an event say."""
    counts: dict[Any, int] = {}
    for first, *rest in rows:
        counts[first] = counts.get(first, 0) + 1
        yield (first, counts[first], *rest)


def _holdings() -> Iterable[Row]:
    # A holding of nothing is no state: it is there or not by the way things went.
    rows = Holding.objects.exclude(quantity=0)
    return rows.values_list("place__code", "lot__item__code", "lot__key", "quantity")


def _holds() -> Iterable[Row]:
    return Hold.objects.values_list(
        "event__uid",
        "unit__item__code",
        "unit__serial_key",
        "lot__item__code",
        "lot__key",
        "place__code",
        "reason",
        "release__event__uid",
    )


def _findings() -> Iterable[Row]:
    return Finding.objects.values_list(
        "event__uid",
        "kind",
        "words",
        "unit__serial_key",
        "item__code",
        "place__code",
        "quantity",
        "subject",
        "note",
        "photo",
        "answer__event__uid",
        "answer__words",
    )


def _box_doubts() -> Iterable[Row]:
    return BoxDoubt.objects.values_list(
        "event__uid",
        "content__box_of__code",
        "content__item__code",
        "content__since",
        "content__quantity",
        "lot__key",
        "found",
        "end__event__uid",
    )


def _orders() -> Iterable[Row]:
    return OrderLine.objects.values_list(
        "supplier__code",
        "item__code",
        "quantity",
        "promised_on",
        "number",
        "entered_by__username",
        "entered_at",  # what came before it does not fill the line
        "closed_at",
        "closed_by__username",
    )


def _claims_due() -> Iterator[Row]:
    """Each clock by its hours from the claim: the same story on another day has the same state."""
    begun = ("event__received_at", "claim__event__received_at", "at")
    rows = ClaimDue.objects.values_list("claim__code", "event__uid", "how", "source", *begun)
    for *told, later, opened, at in rows:
        yield (*told, round((at - (later or opened)) / timedelta(hours=1)))


def _brought() -> Iterator[Row]:
    """Files that are begun or over; how far each has come, not when."""
    rows = BroughtFile.objects.exclude(begun_at=None).values_list(
        "code",
        "kind",
        "name",
        "sha256",
        "choices",
        "rows",
        "why",
        "person__username",
        "device__uid",
        "finished_at",
        "turned_at",
        "taken_back_at",
    )
    for *said, finished, turned, back in rows:
        yield (*said, finished is not None, turned is not None, back is not None)


_OWN: dict[str, Section] = {
    "people": lambda: Person.objects.values_list("username", "roles", "is_active"),
    "devices": lambda: Device.objects.values_list("uid", "label", "person__username", "high_water"),
    "items": lambda: Item.objects.values_list(
        "code", "name", "tracking", "unit", "mass_g", "opened_days", "cost", "cost_for"
    ),
    "codes": lambda: ItemCode.objects.values_list(
        "key", "text", "item__code", "pack_quantity", "label_pattern", "symbology"
    ),
    "lots": lambda: Lot.objects.values_list(
        "item__code", "key", "number", "expires_on", "parent__key", "opened_on", "end_mark_m"
    ),
    "places": lambda: Place.objects.values_list(
        "code",
        "kind",
        "name",
        "parent__code",
        "order",
        "time_zone",
        "warmest_c",
        "purpose",
        "in_use",
        "subject",
    ),
    "units": lambda: Unit.objects.values_list(
        "item__code",
        "serial_key",
        "serial",
        "lot__key",
        "place__code",
        "evidence",
        "provisional",
        "revision",
        "made_on",
        "last_charged",
    ),
    "labels": lambda: UnitAlias.objects.values_list(
        "key", "text", "kind", "unit__item__code", "unit__serial_key"
    ),
    "events": lambda: Event.objects.values_list("uid", "sha256", "person__username").iterator(
        chunk_size=2000
    ),
    "outcomes": _outcomes,
    "movements": _movements,
    "container moves": _container_moves,
    "holdings": _holdings,
    "holds": _holds,
    "findings": _findings,
    "boxes hold": lambda: CartonContent.objects.values_list(
        "box_of__code", "item__code", "quantity", "since"
    ),
    "boxes in doubt": _box_doubts,
    "kept": lambda: Kept.objects.values_list("place__code", "item__code", "event__uid"),
    "undone": lambda: Reversal.objects.values_list("event__uid", "reversed__uid"),
    "partners": lambda: Partner.objects.values_list(
        "code", "name", "kind", "keep_days", "approval_first"
    ),
    "partners' needs": lambda: PartnerNeed.objects.values_list(
        "partner__code", "about", "key", "words", "source"
    ),
    "return rules": lambda: ReturnRule.objects.values_list("item__code", "reading", "never_again"),
    "clocks": lambda: Clock.objects.values_list("partner__code", "about", "how", "hours", "source"),
    "deliveries": lambda: Delivery.objects.values_list(
        "code",
        "note",
        "supplier__code",
        "carrier__code",
        "dock__code",
        "boxes",
        "entered_by__username",
    ),
    "listed serials": lambda: ListedSerial.objects.values_list(
        "delivery__code", "item__code", "serial", "key", "box"
    ),
    "files brought in": _brought,
    "parts of files": lambda: BroughtPart.objects.exclude(file__begun_at=None).values_list(
        "file__code", "number", "sha256", "rows", "event__uid"
    ),
    "order lines": _orders,
    "amendments": lambda: numbered(
        Amendment.objects.order_by("pk").values_list("about", "was", "now", "by__username")
    ),
    "charge rules": lambda: ChargeRule.objects.values_list(
        "item__code", "up_to_c", "days", "recharges", "years", "source"
    ),
    "charges": lambda: Charge.objects.values_list(
        "event__uid", "unit__item__code", "unit__serial_key", "kind", "on", "reason", "limits"
    ),
    "claims": lambda: Claim.objects.values_list(
        "code",
        "event__uid",
        "delivery__code",
        "partner__code",
        "unit__item__code",
        "unit__serial_key",
        "lot__item__code",
        "lot__key",
        "about",
        "words",
    ),
    "claims due": _claims_due,
    "claim steps": lambda: ClaimStep.objects.values_list(
        "claim__code",
        "event__uid",
        "how",
        "closes",
        "kind",
        "value",
        "amount",
        "partner__code",
        "photo",
        "words",
    ),
    "returns": lambda: Return.objects.values_list(
        "code",
        "event__uid",
        "kind",
        "unit__item__code",
        "unit__serial_key",
        "lot__item__code",
        "lot__key",
        "quantity",
    ),
    "return steps": lambda: ReturnStep.objects.values_list(
        "of__code", "event__uid", "kind", "value", "closes", "words"
    ),
    "gaps": lambda: DeviceGap.objects.values_list("device__uid", "first", "last"),
}
