"""The whole chain of one thing: every event that named, moved or carried it, in ledger order.

Costs a few index look-ups and the rows of the thing itself, whatever else the tables hold. Of
things that move all day (a shared code, a bin) the newest are shown, and how many that is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.db.models import Max, Q, QuerySet

from inventory import standing_now
from inventory.ledger.line import parse
from inventory.models import (
    BoxDoubt,
    BoxDoubtEnd,
    Event,
    Finding,
    Hold,
    HoldRelease,
    Lot,
    Movement,
    Outcome,
    Place,
    PlaceKind,
    Scan,
    Unit,
)
from inventory.models.places import MOVABLE
from inventory.scanning import Thing, resolve
from inventory.standing_now import Stood

MOST = 300  # rows of one kind that are fetched for a thing that moves all day
EVER = 2**62  # above every ledger number
AHEAD = timedelta(minutes=5)  # a phone this far ahead of the server has a wrong clock
VIA = {
    "keys": "scanned",
    "symbol": "scanned",
    "hand": "typed",
    "photo": "from a photo",
    "tap": "chosen",
}  # how a text came, in words
NOT_KEPT = re.compile("[\0\ud800-\udfff]")
_DECIDED = Max("event__outcomes__number")
_NO_FINDINGS = Finding.objects.none()


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
class Chain:
    """What is known of one thing."""

    kind: str  # unit, box, lot, item, place, unknown
    name: str
    stands: tuple[str, ...]  # where it is now, innermost first; empty: nowhere or in many places
    evidence: str  # of a unit: listed, on the box, seen
    links: tuple[Link, ...]
    holds: tuple[str, ...]  # reasons, "ended" added to those that are over
    findings: tuple[str, ...]  # words, "answered: ..." added to those that are settled
    breaks: tuple[str, ...]  # where a step does not begin where the one before ended
    cut: bool  # older links were left out
    site: str = ""  # code of the site where a unit stands, empty for none
    things: tuple[Stood, ...] = ()  # of a batch or a box: what there is of it, and where

    def as_json(self) -> dict[str, Any]:
        """Return the chain as plain values."""
        plain = {name: getattr(self, name) for name in self.__slots__}
        for rows in ("links", "things"):
            plain[rows] = [
                {name: getattr(row, name) for name in row.__slots__} for row in plain[rows]
            ]
        return plain


@dataclass(frozen=True, slots=True)
class _Row:
    """A movement, or the container move of what the thing stood in."""

    number: int  # of the outcome that decided it
    event: int
    start: Place | None
    to: Place
    thing: str
    quantity: int = 0
    inside: str = ""


def chain(text: str) -> Chain:
    """Return the chain of the unit, batch, box, parcel or item that a text means.

    A text that means nothing has the scans of exactly this text as its chain; there may be none.
    """
    text = seekable(text)
    thing = resolve(text, "hand")
    if thing.unit is not None:
        return _unit(thing, thing.unit)
    if thing.place is not None:
        return _place(thing, thing.place)
    lot = thing.lot or (thing.item.lots.filter(key="").first() if thing.item else None)
    if lot is not None:
        return _lot(thing, lot)
    scans = Scan.objects.filter(text=text.strip())
    return _chain(thing, [], scans, _NO_FINDINGS, Hold.objects.none())


def seekable(text: str) -> str:
    """Return a text as a database can look for it: PostgreSQL takes no NUL, none half a letter."""
    return NOT_KEPT.sub("\ufffd", text)


def chain_of_lot(lot: Lot) -> Chain:
    """Return the chain of a batch."""
    return _lot(Thing("lot", text=lot.number, lot=lot, item=lot.item), lot)


def _unit(thing: Thing, unit: Unit) -> Chain:
    rows = _moved(unit.movements.all())
    breaks = _breaks(rows, unit.place)
    if rows and len(rows) < MOST and rows[0].start and not rows[0].start.outside:
        breaks += (f"{rows[0].number}: begins at {rows[0].start}, which is ours",)
    # In each place from its arrival there until its next movement.
    starts = [(row.to, row.number) for row in rows]
    ends = [row.number for row in rows[1:]] + [EVER]
    for (place, since), until in zip(starts, ends, strict=True):
        rows = rows + _carried(place, since, until)
    on_it = Q(unit=unit) | Q(lot=unit.lot, lot__number__gt="")
    # A box of its batch that held something else is told here too: this one may be like it.
    about = Q(unit=unit) | Q(event__in=_doubting(unit.lot))
    holds, findings = Hold.objects.filter(on_it), Finding.objects.filter(about)
    scans = Scan.objects.filter(unit=unit)
    found = _chain(thing, rows, scans, findings, holds, also=_told_of(unit))
    stands = tuple(place.name for place in unit.place.way_up()) if unit.place else ()
    site = unit.place.within(PlaceKind.SITE) if unit.place else None
    at = site.code if site else ""
    told = unit.get_evidence_display()
    return replace(found, stands=stands, evidence=told, breaks=breaks, site=at)


def _told_of(unit: Unit) -> set[int]:
    """Return the events that told of a unit, as those that scanned the label of its box."""
    begun = unit.holds.values_list("event", flat=True)
    ended = HoldRelease.objects.filter(hold__unit=unit).values_list("event", flat=True)
    shown = unit.findings.values_list("event", flat=True)
    return {*unit.charges.values_list("event", flat=True), *begun, *ended, *shown}


def _place(thing: Thing, place: Place) -> Chain:
    inside = _moved(place.moves_in.all()) + _moved(place.moves_out.all())
    moves = _container_rows(place)
    rows = inside + _carried(place, 0, EVER)
    # Its code may have been scanned before anybody received it: at the door, as a bad one.
    scans = Scan.objects.filter(Q(place=place) | Q(text=place.code))
    findings = Finding.objects.filter(place=place)
    found = _chain(thing, rows, scans, findings, Hold.objects.filter(place=place))
    stands = tuple(around.name for around in place.way_up()[1:])
    now = place.parent if place.kind in MOVABLE else None
    breaks = _breaks(moves, now) if moves else ()
    things = standing_now.of_place(place) if place.kind in MOVABLE else ()
    return replace(found, stands=stands, breaks=breaks, things=things)


def _lot(thing: Thing, lot: Lot) -> Chain:
    # A problem names the item, not the batch: it is told with the item's own chain.
    doubting = _doubting(lot)
    about = Q(event__in=doubting) | (Q() if lot.number else Q(item=lot.item_id))
    ended = BoxDoubtEnd.objects.filter(doubt__lot=lot).order_by("-pk").values_list("event")
    scans = Scan.objects.filter(event__in=[*doubting, *(event for (event,) in ended[:MOST])])
    findings, holds = Finding.objects.filter(about), Hold.objects.filter(lot=lot)
    found = _chain(thing, _moved(lot.movements.all()), scans, findings, holds)
    return replace(found, things=standing_now.of_lot(lot))


def _doubting(lot: Lot) -> list[int]:
    """Return the events that put the boxes of a batch in doubt, newest first."""
    doubts = BoxDoubt.objects.filter(lot=lot).order_by("-pk")
    return list(doubts.values_list("event", flat=True)[:MOST])


def _moved(movements: QuerySet[Movement]) -> list[_Row]:
    """Return the newest movements, oldest of them first."""
    newest = movements.order_by("-pk").annotate(decided=_DECIDED)
    whole = newest.select_related("from_place", "to_place", "unit__item", "lot__item")
    rows = list(whole[:MOST])
    return [
        _Row(
            row.decided,
            row.event_id,
            row.from_place,
            row.to_place,
            str(row.unit or row.lot),
            row.quantity,
        )
        for row in reversed(rows)
    ]


def _container_rows(place: Place) -> list[_Row]:
    moves = place.container_moves.order_by("-pk").annotate(decided=_DECIDED)
    rows = list(moves.select_related("from_parent", "to_parent")[:MOST])
    return [
        _Row(
            row.decided,
            row.event_id,
            row.from_parent,
            row.to_parent,
            place.name,
            inside=place.name,
        )
        for row in reversed(rows)
    ]


def _carried(place: Place, since: int, until: int) -> list[_Row]:
    """Return the moves of a box, and of what it stood in, between two ledger numbers."""
    if place.kind not in MOVABLE:
        return []
    moves = _container_rows(place)
    before = [row.to for row in moves if row.number <= since]
    stood = before[-1] if before else moves[0].start if moves else place.parent
    found: list[_Row] = []
    for row in moves:
        if since < row.number <= until:
            found += _carried(stood, since, row.number) if stood else []
            found.append(row)
            stood, since = row.to, row.number
    return found + (_carried(stood, since, until) if stood else [])


def _breaks(rows: list[_Row], now: Place | None) -> tuple[str, ...]:
    """Say where the chain is broken: each step begins where the one before ended."""
    broken = [
        f"{after.number}: left {after.start}, stood at {before.to}"
        for before, after in pairwise(rows)
        if after.start != before.to
    ]
    if rows and rows[-1].to != now:
        broken.append(f"stands at {now}, was taken to {rows[-1].to}")
    return tuple(broken)


def _chain(
    thing: Thing,
    rows: list[_Row],
    scans: QuerySet[Scan],
    findings: QuerySet[Finding],
    holds: QuerySet[Hold],
    also: Iterable[int] = (),
) -> Chain:
    """Put rows, scans and what also told of it in ledger order and add what else is known."""
    scanned = list(scans.order_by("-event")[:MOST].values_list("event", flat=True))
    looked = {*scanned, *also}
    events = _events({row.event for row in rows} | looked)
    moving = {row.event for row in rows}
    links = [_link(events[row.event], row) for row in rows]
    links += [_link(events[event], None) for event in looked if event not in moving]
    return Chain(
        kind=thing.kind,
        name=thing.name,
        stands=(),
        evidence="",
        links=tuple(sorted(links, key=lambda link: link.number)),
        holds=tuple(_hold(hold) for hold in holds.select_related("release").order_by("pk")),
        findings=findings_told(findings),
        breaks=(),
        cut=len(rows) >= MOST or len(scanned) >= MOST,
    )


def told(pks: Iterable[int]) -> tuple[Link, ...]:
    """Return these events (row ids) as links that tell no movement, in ledger order."""
    links = [_link(decided, None) for decided in _events(pks).values()]
    return tuple(sorted(links, key=lambda link: link.number))


def findings_told(findings: QuerySet[Finding]) -> tuple[str, ...]:
    """Return problems in words, with what was answered."""
    return tuple(_finding(f) for f in findings.select_related("answer").order_by("pk"))


def _events(pks: Iterable[int]) -> dict[int, tuple[Event, Outcome]]:
    """Return the events with their latest outcome, by row id."""
    events = Event.objects.filter(pk__in=pks).select_related("person", "reversed_by")
    found = {event.pk: event for event in events.prefetch_related("outcomes")}
    return {pk: (event, list(event.outcomes.all())[-1]) for pk, event in found.items()}


def _link(decided: tuple[Event, Outcome], row: _Row | None) -> Link:
    event, outcome = decided
    line = parse(event.line)
    return Link(
        number=outcome.number,
        event=event.uid,
        step=event.step,
        who=event.person.name,
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
        verdict=outcome.verdict,
        sentence=outcome.sentence,
        evidence=f"{line.text} ({VIA[line.via]})" if line.text else VIA[line.via],
        photo=line.photo,
        note=str(line.note or ""),
        undone=hasattr(event, "reversed_by"),
    )


def _hold(hold: Hold) -> str:
    return f"{hold.reason} (ended)" if hasattr(hold, "release") else hold.reason


def _finding(finding: Finding) -> str:
    answer = getattr(finding, "answer", None)
    return f"{finding.words} (answered: {answer.words})" if answer else finding.words
