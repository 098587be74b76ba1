"""One SHA-256 over the state, the same on every database, after a replay and after a restore.

No database ids, no receive times and no ids that the server drew: things are named by their codes
and serials, events by the ids that the clients gave them.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from inventory.models import (
    BoxDoubt,
    Charge,
    Claim,
    ClaimDue,
    ClaimStep,
    ContainerMove,
    Delivery,
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
    Place,
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
        yield from sorted(json.dumps(row, default=str, ensure_ascii=False) for row in rows())


def _events() -> Iterator[Row]:
    for event in Event.objects.select_related("person").prefetch_related("outcomes").iterator(2000):
        last = list(event.outcomes.all())[-1:]
        decided = [(outcome.verdict, outcome.sentence) for outcome in last]
        yield (event.uid, event.sha256, event.person.username, *decided)


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
    return _numbered(rows.iterator(chunk_size=2000))


def _container_moves() -> Iterator[Row]:
    rows = ContainerMove.objects.order_by("pk").values_list(
        "event__uid", "place__code", "from_parent__code", "to_parent__code"
    )
    return _numbered(rows.iterator(chunk_size=2000))


def _numbered(rows: Iterable[Row]) -> Iterator[Row]:
    """Give each row its place among those of the same event."""
    counts: dict[Any, int] = {}
    for event, *rest in rows:
        counts[event] = counts.get(event, 0) + 1
        yield (event, counts[event], *rest)


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


_OWN: dict[str, Section] = {
    "items": lambda: Item.objects.values_list("code", "name", "tracking", "unit"),
    "codes": lambda: ItemCode.objects.values_list("key", "item__code", "pack_quantity"),
    "lots": lambda: Lot.objects.values_list(
        "item__code", "key", "expires_on", "parent__key", "opened_on", "end_mark_m"
    ),
    "places": lambda: Place.objects.values_list("code", "kind", "name", "parent__code"),
    "units": lambda: Unit.objects.values_list(
        "item__code", "serial_key", "place__code", "evidence", "provisional"
    ),
    "labels": lambda: UnitAlias.objects.values_list("key", "kind", "unit__serial_key"),
    "events": _events,
    "movements": _movements,
    "container moves": _container_moves,
    "holdings": _holdings,
    "holds": _holds,
    "findings": _findings,
    "boxes in doubt": _box_doubts,
    "kept": lambda: Kept.objects.values_list("place__code", "item__code", "event__uid"),
    "undone": lambda: Reversal.objects.values_list("event__uid", "reversed__uid"),
    "deliveries": lambda: Delivery.objects.values_list(
        "code", "note", "supplier__code", "carrier__code", "dock__code", "boxes"
    ),
    "listed serials": lambda: ListedSerial.objects.values_list(
        "delivery__code", "item__code", "key", "box"
    ),
    "charges": lambda: Charge.objects.values_list(
        "event__uid", "unit__item__code", "unit__serial_key", "kind", "on", "reason"
    ),
    "claims": lambda: Claim.objects.values_list(
        "code", "event__uid", "delivery__code", "partner__code", "about", "words"
    ),
    "claims due": lambda: ClaimDue.objects.values_list("claim__code", "how", "source"),
    "claim steps": lambda: ClaimStep.objects.values_list(
        "claim__code", "event__uid", "how", "closes", "words"
    ),
    "gaps": lambda: DeviceGap.objects.values_list("device__uid", "first", "last"),
}
