"""The whole chain of one thing: every event that named, moved or carried it, in ledger order.

Costs a few index look-ups and the rows of the thing itself, whatever else the tables hold. Of
things that move all day (a shared code, a bin) the newest are shown, and how many that is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar

from django.db.models import OuterRef, Q, QuerySet, Subquery

from inventory import standing_now
from inventory.links import Link, Row, events_told, link
from inventory.models import (
    BoxDoubtEnd,
    Finding,
    Hold,
    Lot,
    Outcome,
    Place,
    PlaceKind,
    Scan,
    Unit,
)
from inventory.models.places import MOVABLE
from inventory.rows import Among, Question, Slot, found
from inventory.scanning import Thing, resolve
from inventory.standing_now import Stood

MOST = 300  # rows of one kind that are fetched for a thing that moves all day
EVER = 2**62  # above every ledger number
M = TypeVar("M", Finding, Hold)
T = TypeVar("T", Unit, Lot)
NOT_KEPT = re.compile("[\0\ud800-\udfff]")
_PLACES = Question(lambda: Place.objects.filter(pk__in=Among(Place, "id")))
_FINDINGS = Question(
    lambda: _ordered(
        Finding.objects.filter(Q(unit=Slot(Finding, "unit")) | Q(event__in=Among(Finding, "event")))
    )
)
_DECISIONS = Outcome.objects.filter(event=OuterRef("event")).order_by("-number")
_DECIDED = Subquery(_DECISIONS.values("number")[:1])


# Without joins: a database plans this in no time, and a thing's moves are between few places.
_MOVED = """\
SELECT m.event_id, m.from_place_id, m.to_place_id, m.unit_id, m.lot_id, m.quantity,
(SELECT MAX(o.number) FROM inventory_outcome o WHERE o.event_id = m.event_id)
FROM inventory_movement m WHERE m.{} = %s ORDER BY m.id DESC LIMIT %s"""
_HOLDS = Question(
    lambda: (
        Hold.objects.filter(
            Q(unit=Slot(Hold, "unit")) | Q(lot=Slot(Hold, "lot"), lot__number__gt="")
        )
        .select_related("release")
        .order_by("pk")
    )
)
_DOUBTING = "SELECT event_id FROM inventory_boxdoubt WHERE lot_id = %s ORDER BY id DESC LIMIT %s"
_NEWEST = "SELECT event_id FROM inventory_scan WHERE {} = %s ORDER BY id DESC LIMIT %s"
_SCANNED = {column: _NEWEST.format(column) for column in ("unit_id", "place_id", "text")}
_TOLD_OF = """\
SELECT event_id FROM inventory_charge WHERE unit_id = %(unit)s
UNION SELECT event_id FROM inventory_hold WHERE unit_id = %(unit)s
UNION SELECT event_id FROM inventory_finding WHERE unit_id = %(unit)s
UNION SELECT r.event_id FROM inventory_holdrelease r
JOIN inventory_hold h ON h.id = r.hold_id WHERE h.unit_id = %(unit)s"""


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
    return _chain(thing, [], _scanned("text", text.strip()), (), ())


def seekable(text: str) -> str:
    """Return a text as a database can look for it: PostgreSQL takes no NUL, none half a letter."""
    return NOT_KEPT.sub("\ufffd", text)


def chain_of_lot(lot: Lot) -> Chain:
    """Return the chain of a batch."""
    return _lot(Thing("lot", text=lot.number, lot=lot, item=lot.item), lot)


def _unit(thing: Thing, unit: Unit) -> Chain:
    rows = _moved("unit_id", unit)
    breaks = _breaks(rows, unit.place)
    if rows and len(rows) < MOST and rows[0].start and not rows[0].start.outside:
        breaks += (f"{rows[0].number}: begins at {rows[0].start}, which is ours",)
    # In each place from its arrival there until its next movement.
    starts = [(row.to, row.number) for row in rows]
    ends = [row.number for row in rows[1:]] + [EVER]
    for (place, since), until in zip(starts, ends, strict=True):
        rows = rows + _carried(place, since, until)
    # A box of its batch that held something else is told here too: this one may be like it.
    findings = _FINDINGS.ask(unit=unit.pk, event=_doubting(unit.lot))
    holds = _HOLDS.ask(unit=unit.pk, lot=unit.lot_id)
    scans, also = _scanned("unit_id", unit.pk), found(_TOLD_OF, {"unit": unit.pk})
    whole = _chain(thing, rows, scans, findings, holds, also=_firsts(also))
    stands = tuple(place.name for place in unit.place.way_up()) if unit.place else ()
    site = unit.place.within(PlaceKind.SITE) if unit.place else None
    at = site.code if site else ""
    told = unit.get_evidence_display()
    return replace(whole, stands=stands, evidence=told, breaks=breaks, site=at)


def _scanned(column: str, value: object) -> list[int]:
    """Return the newest events that scanned it, newest first."""
    return _firsts(found(_SCANNED[column], [value, MOST]))


def _firsts(rows: Iterable[tuple[Any, ...]]) -> list[int]:
    return [first for first, *_ in rows]


def _place(thing: Thing, place: Place) -> Chain:
    inside = _moved("to_place_id", place) + _moved("from_place_id", place)
    moves = _container_rows(place)
    rows = inside + _carried(place, 0, EVER)
    # Its code may have been scanned before anybody received it: at the door, as a bad one.
    scans = {*_scanned("place_id", place.pk), *_scanned("text", place.code)}
    findings, holds = Finding.objects.filter(place=place), Hold.objects.filter(place=place)
    newest = sorted(scans, reverse=True)[:MOST]
    whole = _chain(thing, rows, newest, _ordered(findings), _ordered(holds))
    stands = tuple(around.name for around in place.way_up()[1:])
    now = place.parent if place.kind in MOVABLE else None
    breaks = _breaks(moves, now) if moves else ()
    things = standing_now.of_place(place) if place.kind in MOVABLE else ()
    return replace(whole, stands=stands, breaks=breaks, things=things)


def _lot(thing: Thing, lot: Lot) -> Chain:
    # A problem names the item, not the batch: it is told with the item's own chain.
    doubting = _doubting(lot)
    about = Q(event__in=doubting) | (Q() if lot.number else Q(item=lot.item_id))
    ended = BoxDoubtEnd.objects.filter(doubt__lot=lot).order_by("-pk").values_list("event")
    # The scans of those events alone: the scans of the batch's things are the things' own.
    doubts = sorted({*doubting, *_firsts(ended[:MOST])}, reverse=True)
    scans = Scan.objects.filter(event__in=doubts).order_by("-event").values_list("event")
    findings, holds = Finding.objects.filter(about), Hold.objects.filter(lot=lot)
    moved = _moved("lot_id", lot)
    whole = _chain(thing, moved, _firsts(scans[:MOST]), _ordered(findings), _ordered(holds))
    return replace(whole, things=standing_now.of_lot(lot))


def _doubting(lot: Lot) -> list[int]:
    """Return the events that put the boxes of a batch in doubt, newest first."""
    return _firsts(found(_DOUBTING, [lot.pk, MOST]))


def _ordered(rows: QuerySet[M]) -> QuerySet[M]:
    """Problems with their answers, holds with their releases, in the order they came."""
    ended = "answer" if rows.model is Finding else "release"
    return rows.select_related(ended).order_by("pk")


def _moved(column: str, of: Unit | Lot | Place) -> list[Row]:
    """Return the newest movements whose column names it, oldest first."""
    rows = found(_MOVED.format(column), [of.pk, MOST])[::-1]
    ends = {place for _, start, to, *_ in rows for place in (start, to)}
    places = {place.pk: place for place in _PLACES.ask(id=ends - {None})}
    things = _names(of, [(unit, lot) for _, _, _, unit, lot, *_ in rows])
    return [
        Row(decided, event, places[start], places[to], thing, quantity)
        for (event, start, to, _, _, quantity, decided), thing in zip(rows, things, strict=True)
    ]


def _names(of: Unit | Lot | Place, things: Sequence[tuple[int | None, int]]) -> list[str]:
    """Name what moved, given as the ids of a unit, if it was one, and its batch."""
    units = {of.pk: of} if isinstance(of, Unit) else _by_id(Unit, (unit for unit, _ in things))
    lots = _by_id(Lot, (lot for unit, lot in things if unit is None))
    return [str(lots[lot] if unit is None else units[unit]) for unit, lot in things]


def _by_id(model: type[T], ids: Iterable[int | None]) -> dict[int, T]:
    wanted = set(ids) - {None}
    return model.objects.select_related("item").in_bulk(wanted) if wanted else {}


def _container_rows(place: Place) -> list[Row]:
    moves = place.container_moves.order_by("-pk").annotate(decided=_DECIDED)
    rows = list(moves.select_related("from_parent", "to_parent")[:MOST])
    return [
        Row(
            row.decided,
            row.event_id,
            row.from_parent,
            row.to_parent,
            place.name,
            inside=place.name,
        )
        for row in reversed(rows)
    ]


def _carried(place: Place, since: int, until: int) -> list[Row]:
    """Return the moves of a box, and of what it stood in, between two ledger numbers."""
    if place.kind not in MOVABLE:
        return []
    moves = _container_rows(place)
    before = [row.to for row in moves if row.number <= since]
    stood = before[-1] if before else moves[0].start if moves else place.parent
    found: list[Row] = []
    for row in moves:
        if since < row.number <= until:
            found += _carried(stood, since, row.number) if stood else []
            found.append(row)
            stood, since = row.to, row.number
    return found + (_carried(stood, since, until) if stood else [])


def _breaks(rows: list[Row], now: Place | None) -> tuple[str, ...]:
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
    rows: list[Row],
    scanned: Sequence[int],
    findings: Iterable[Finding],
    holds: Iterable[Hold],
    also: Iterable[int] = (),
) -> Chain:
    """Put rows, scans and what also told of it in ledger order and add what else is known."""
    looked = {*scanned, *also}
    events = events_told({row.event for row in rows} | looked)
    moving = {row.event for row in rows}
    links = [link(events[row.event], row) for row in rows]
    links += [link(events[event], None) for event in looked if event not in moving]
    return Chain(
        kind=thing.kind,
        name=thing.name,
        stands=(),
        evidence="",
        links=tuple(sorted(links, key=lambda one: one.number)),
        holds=tuple(_hold(hold, thing.unit) for hold in holds),
        findings=tuple(_finding(one) for one in findings),
        breaks=(),
        cut=len(rows) >= MOST or len(scanned) >= MOST,
    )


def findings_told(findings: QuerySet[Finding]) -> tuple[str, ...]:
    """Return problems in words, with what was answered."""
    return tuple(_finding(one) for one in _ordered(findings))


def _hold(hold: Hold, unit: Unit | None) -> str:
    if hasattr(hold, "release"):
        return f"{hold.reason} (ended)"
    left = unit.place.left_us if unit is not None and unit.place is not None else ""
    return f"{hold.reason} ({left})" if left else hold.reason


def _finding(finding: Finding) -> str:
    answer = getattr(finding, "answer", None)
    return f"{finding.words} (answered: {answer.words})" if answer else finding.words
