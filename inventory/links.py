"""One event as a link in the chain of a thing: who did what, when, and how it was known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from inventory.badges import who_held
from inventory.ledger.line import Line, parse
from inventory.models import Outcome, Place
from inventory.rows import Among, Question

AHEAD = timedelta(minutes=5)  # a phone this far ahead of the server has a wrong clock
VIA = {
    "keys": "scanned",
    "paired": "scanned",
    "symbol": "scanned",
    "hand": "typed",
    "photo": "from a photo",
    "tap": "chosen",
    "told": "told by telephone",
}  # how a text came, in words


class Told(NamedTuple):
    """An event with what was decided about it."""

    event: int
    number: int
    verdict: str
    sentence: str
    uid: UUID
    step: str
    line: bytes
    device_time: datetime
    received_at: datetime
    person: str
    reversed_by: int | None


_OF_EVENT = ("uid", "step", "line", "device_time", "received_at", "person__name", "reversed_by")
_EVENTS = Question(
    lambda: (
        Outcome.objects.filter(event__in=Among(Outcome, "event"))
        .order_by("number")
        .values_list(
            "event_id", "number", "verdict", "sentence", *(f"event__{name}" for name in _OF_EVENT)
        )
    )
)


@dataclass(frozen=True, slots=True)
class Link:
    """One event in the life of a thing."""

    number: int  # ledger number of the outcome: the order
    event: UUID
    step: str
    who: str
    device_time: datetime  # what the device's clock said, UTC
    received_at: datetime  # UTC
    clock_off: bool  # the device's clock cannot have been right
    start: str  # name of the place it left; empty: nothing moved
    to: str
    start_code: str  # two places may have one name
    to_code: str
    inside: str  # name of the box or parcel that was moved with the thing in it, or empty
    thing: str  # name of what moved
    quantity: int  # base units moved; 0: nothing
    verdict: str
    sentence: str
    evidence: str  # how it was known: the scanned text and how it came
    photo: str  # SHA-256 or empty
    note: str  # id of a note or empty
    undone: bool  # a later event took it back


@dataclass(frozen=True, slots=True)
class Row:
    """A movement, or the container move of what the thing stood in."""

    number: int  # of the outcome that decided it
    event: int
    start: Place | None
    to: Place
    thing: str
    quantity: int = 0
    inside: str = ""


def events_told(pks: Iterable[int]) -> dict[int, Told]:
    """Return the events with their latest outcome, by row id."""
    return {row[0]: Told(*row) for row in _EVENTS.tuples(event=pks)}


def link(event: Told, row: Row | None) -> Link:
    line = parse(event.line)
    return Link(
        number=event.number,
        event=event.uid,
        step=event.step,
        who=who_held(event.person, line.hands),
        device_time=event.device_time,
        received_at=event.received_at,
        clock_off=event.device_time > event.received_at + AHEAD,
        start=row.start.name if row and row.start else "",
        to=row.to.name if row else "",
        start_code=row.start.code if row and row.start else "",
        to_code=row.to.code if row else "",
        inside=row.inside if row else "",
        thing=row.thing if row else "",
        quantity=row.quantity if row else 0,
        verdict=event.verdict,
        sentence=event.sentence,
        evidence=_evidence(line),
        photo=line.photo,
        note=str(line.note or ""),
        undone=event.reversed_by is not None,
    )


def _evidence(line: Line) -> str:
    """The scanned text and how it came; when and where its photo was taken, if that was told."""
    said = [f"{line.text} ({VIA[line.via]})" if line.text else VIA[line.via]]
    if line.taken:
        said.append(f"photo of {line.taken:%Y-%m-%d %H:%M} UTC")
    return ", ".join([*said, line.spot] if line.spot else said)


def told(pks: Iterable[int]) -> tuple[Link, ...]:
    """Return these events (row ids) as links that tell no movement, in ledger order."""
    links = [link(decided, None) for decided in events_told(pks).values()]
    return tuple(sorted(links, key=lambda one: one.number))
