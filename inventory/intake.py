"""The only way in. Takes lines of events, judges each alone, writes events and outcomes.

Refused here: what is malformed, what this person may not send, another body under a known id.
Everything else is recorded, whatever the act decides. At most 20 events or 100 ms stand in one
transaction; an answer is given only after the transaction that holds it has been committed.
"""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any
from uuid import UUID

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import Q

from inventory import badges, newcomers, odd
from inventory.ledger import tree
from inventory.ledger.line import Line, LineError, parse
from inventory.ledger.sequence import split
from inventory.lock import writing
from inventory.models import (
    Device,
    DeviceGap,
    Event,
    Finding,
    Held,
    Outcome,
    Person,
    RecordMark,
    Scan,
    Unit,
)
from inventory.moving import CannotMove, Writing
from inventory.rows import Question, Slot, add, change
from inventory.scanning import NO_THING, NOTHING, Thing, resolve

CHUNK, BUDGET = 20, 0.1  # events, seconds in one transaction
TOLD = frozenset({"applied", "noted", "problem", "waiting"})  # verdicts that name the thing
COUNTED = frozenset({"pick", "load", "put", "receive", "unbox"})  # a number says how many
FAULT = "This could not be carried out. It is kept for the office to look at."
log = logging.getLogger(__name__)
_LATEST_MARK = Question(lambda: RecordMark.objects.order_by("-size")[:1])
_KNOWN = Question(lambda: Event.objects.filter(uid=Slot(Event, "uid")))
_DEVICE = Question(lambda: Device.objects.filter(uid=Slot(Device, "uid")))
_HIGH_WATER = "UPDATE inventory_device SET high_water = %s WHERE id = %s"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What an act decided."""

    word: str  # applied, noted, problem, dispute, stopped, waiting
    sentence: str  # plain words for the person who scanned; no names or addresses


@dataclass(frozen=True, slots=True)
class Act:
    """What happens for one kind of event."""

    step: str
    roles: frozenset[str]  # who may send it
    apply: Callable[[Writing], Verdict]
    allow: Callable[[Person, Line], str] = lambda person, line: ""  # "" or why not
    undo: Callable[[Writing, Event], None] = lambda writing, done: None  # side tables of the act


@dataclass(frozen=True, slots=True)
class Result:
    """The answer to one line; `as_json` is its shape on the wire."""

    line: int  # 1 = first of the batch
    id: str
    verdict: str
    sentence: str
    number: int = 0  # ledger number; 0 when not stored
    duplicate: bool = False
    kind: str = ""  # of a refusal: malformed, not_allowed, other_body, fault
    thing: dict[str, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """Return the result as the API answers it."""
        return {name: getattr(self, name) for name in self.__slots__}


ACTS: dict[str, Act] = {}


def register(act: Act) -> None:
    """Let events of this step be carried out by this act; a second act for a step is a fault."""
    if ACTS.setdefault(act.step, act) is not act:
        raise ValueError(f"two acts for the step {act.step}")


def take(person: Person, lines: Sequence[bytes | str], now: datetime) -> list[Result]:
    """Take a batch of event lines from a signed-in person; one result per line, in order."""
    results: list[Result] = []
    waiting = enumerate(lines, 1)
    left = len(lines)
    while left:
        done = _transaction(person, waiting, now)
        results += done
        left -= len(done)
    return results


def _transaction(
    person: Person, waiting: Iterator[tuple[int, bytes | str]], now: datetime
) -> list[Result]:
    results: list[Result] = []
    began = time.monotonic()
    with writing():
        book = _Book()
        for place, raw in waiting:
            results.append(_judge(book, person, place, raw, now))
            if len(results) == CHUNK or time.monotonic() - began > BUDGET:
                break
        book.close()
    return results


class _Book:
    """Numbers entries under the lock and closes the transaction with a record mark."""

    def __init__(self) -> None:
        mark = _LATEST_MARK.one()
        self.size, peaks = (mark.size, mark.peaks) if mark else (0, [])
        self.peaks = [bytes.fromhex(peak) for peak in peaks]
        self.begun = self.size
        self._devices: dict[UUID, Device | None] = {}

    def device(self, uid: UUID) -> Device | None:
        """Return the registered device of this id; one for all lines of the transaction."""
        if uid not in self._devices:
            self._devices[uid] = _DEVICE.one(uid=uid)
        return self._devices[uid]

    def enter(self, *entries: str) -> None:
        """Count entries that were written under the numbers size + 1 and up."""
        leaves = [tree.leaf(entry.encode()) for entry in entries]
        self.size, self.peaks = tree.grow(self.size, self.peaks, leaves)

    def close(self) -> None:
        """Write the mark, if anything was entered."""
        if self.size != self.begun:
            peaks = [peak.hex() for peak in self.peaks]
            add(RecordMark(size=self.size, root=tree.root(self.peaks).hex(), peaks=peaks))


def _judge(book: _Book, person: Person, place: int, raw: bytes | str, now: datetime) -> Result:
    try:
        line = parse(raw)
    except LineError as error:
        return Result(place, _id_of(raw), "refused", str(error), kind="malformed")
    known = _KNOWN.one(uid=line.id)
    if known is not None:
        return _again(known, line, place)
    try:
        device = book.device(line.device)
        refusal = _refusal(person, line, device)
        if refusal or device is None:
            return Result(place, str(line.id), "refused", refusal, kind="not_allowed")
        writes, outcome = _decide(
            book.size + 2, lambda: _record(book.size + 1, person, line, device, now)
        )
    except (InterfaceError, OperationalError):
        raise  # the database itself is away: nothing of this batch is answered, all comes again
    except Exception:
        # A line that cannot be stored must not take its batch down; nothing of it is kept.
        log.exception("event %s could not be stored", line.id)
        sentence = "This could not be stored. Nothing was changed; tell the office."
        return Result(place, str(line.id), "refused", sentence, kind="fault")
    device.high_water = max(device.high_water, line.seq)
    book.enter(writes.event.line, outcome.line)
    for unit in writes.first:
        _wake(book, unit, line.text)
    return _result(place, writes.event, outcome, writes.thing)


def _again(known: Event, line: Line, place: int) -> Result:
    if known.sha256 != line.sha256:
        sentence = "Another event came under this id before. Nothing was changed."
        return Result(place, str(line.id), "refused", sentence, kind="other_body")
    outcome = known.outcomes.order_by("-number").first()
    if outcome is None:
        raise RuntimeError(f"event {known.number} has no outcome")
    scan = Scan.objects.filter(event=known).select_related("unit__item", "item", "place").first()
    thing = NOTHING
    if scan is not None:
        thing = Thing(scan.read_as, scan.text, unit=scan.unit, item=scan.item, place=scan.place)
    return _result(place, known, outcome, thing, duplicate=True)


def _refusal(person: Person, line: Line, device: Device | None) -> str:
    act = ACTS.get(line.step)
    if act is None:
        return f"step: expected one of {', '.join(sorted(ACTS))}, got {line.step!r}"
    if not person.has(*act.roles):
        return "You may not do this."
    if device is None:
        return f"device: expected a registered device, got {str(line.device)!r}"
    if line.hands and badges.named(line.hands) is None:
        return f"hands: expected the badge of a person here, got {line.hands!r}"
    return act.allow(person, line)


def _record(number: int, person: Person, line: Line, device: Device, now: datetime) -> Writing:
    event = add(
        Event(
            number=number,
            uid=line.id,
            line=line.raw,
            sha256=line.sha256,
            step=line.step,
            person=person,
            device=device,
            seq=line.seq,
            device_time=line.at,
            received_at=now,
            subject=line.subject,
        )
    )
    _note_sequence(event, device, line.seq)
    if line.hands:
        add(Held(event=event, person=badges.named(line.hands)))
    return Writing(event, line, person, resolve(line.text, line.via))


def _decide(number: int, record: Callable[[], Writing]) -> tuple[Writing, Outcome]:
    """Record an event and let its act decide, whole or, where the act cannot, without it."""
    try:
        with transaction.atomic():
            writes = record()
            _a_thing_or_nothing(writes)
            verdict = ACTS[writes.line.step].apply(writes)
            if writes.first or writes.learned:
                verdict = _looked_at(writes, verdict)
            verdict = odd.told(writes, verdict)
            if writes.line.hands:
                verdict = _by_a_leaver(writes, verdict)
            return writes, _conclude(number, writes, verdict)
    except CannotMove as error:
        verdict = Verdict("stopped", f"{error}.")
    except (InterfaceError, OperationalError):
        raise
    except Exception:
        # A fault of ours in an act must not lose what a person did: kept, and a person looks.
        log.exception("an act failed")
        verdict = Verdict("problem", FAULT)
    with transaction.atomic():
        writes = record()
        if verdict.sentence == FAULT:
            writes.finding(Finding.Kind.UNKNOWN, f"{writes.line.step}: {FAULT}")
        return writes, _conclude(number, writes, verdict)


def _a_thing_or_nothing(writes: Writing) -> None:
    """What is scanned moves if it is a thing; one with a serial, a box, parcel or bag is one."""
    thing, line = writes.thing, writes.line
    if thing.kind in NO_THING and line.step != "badge":
        raise CannotMove(thing.question)
    one = thing.unit or thing.place or thing.serial
    if one and (line.quantity or 1) > 1 and line.step in COUNTED:
        raise CannotMove(f"{one} is one, not {line.quantity}. Scan each by itself")


def _by_a_leaver(writes: Writing, verdict: Verdict) -> Verdict:
    """What was done was done, but a badge was in use that should be gone: a person looks."""
    words = badges.of_a_leaver(writes.line.hands)
    if not words or verdict.word not in TOLD:
        return verdict
    writes.finding(Finding.Kind.UNKNOWN, words)
    return Verdict("problem", f"{verdict.sentence} {words}")


def _looked_at(writes: Writing, verdict: Verdict) -> Verdict:
    """Add what is to be said of what came for the first time or was named only now."""
    things = list(dict.fromkeys([*writes.first, *writes.learned]))
    stopped, words = newcomers.met(writes, things)
    if not words:
        return verdict
    return Verdict("problem" if stopped else verdict.word, f"{verdict.sentence} {words}")


def _conclude(number: int, writes: Writing, verdict: Verdict) -> Outcome:
    first = number == writes.event.number + 1  # a waiting event's scan was noted when it came
    if first and writes.line.text:
        _note_scan(writes.event, writes.line, writes.thing)
    line = json.dumps(
        {
            "event": str(writes.line.id),
            "sentence": verdict.sentence,
            "verdict": verdict.word,
        },
        ensure_ascii=False,
        separators=(",", ":"),
        sort_keys=True,
    )
    return add(
        Outcome(
            number=number,
            event=writes.event,
            verdict=verdict.word,
            sentence=verdict.sentence,
            line=line,
        )
    )


def _wake(book: _Book, unit: Unit, text: str) -> None:
    """Judge again what waited for a thing that somebody has now received."""
    texts = Q(scan__text__in={text, unit.serial, unit.serial_key})
    waiting = Event.objects.filter(outcomes__verdict="waiting", reversed_by=None).filter(
        Q(scan__unit=unit) | texts | Q(scan__unit=None, scan__text__contains=unit.serial)
    )
    for event in waiting.distinct().order_by("number"):
        try:
            with transaction.atomic():
                outcome = _judged_again(book.size + 1, event)
        except (InterfaceError, OperationalError):
            raise
        except Exception:
            # It goes on waiting: what somebody has just received must come in all the same.
            log.exception("event %s could not be judged again", event.number)
            continue
        if outcome is not None:
            book.enter(outcome.line)


def _judged_again(number: int, event: Event) -> Outcome | None:
    latest = event.outcomes.order_by("-number").first()
    if latest is None or latest.verdict != "waiting":
        return None
    line = parse(event.line)
    thing = resolve(line.text, line.via)
    if thing.unit is None and thing.place is None:
        return None
    return _decide(number, partial(Writing, event, line, event.person, thing))[1]


def _note_scan(event: Event, line: Line, thing: Thing) -> None:
    add(
        Scan(
            event=event,
            text=line.text,
            via=line.via,
            read_as=thing.kind,
            unit=thing.unit,
            item=thing.item,
            place=thing.place,
        )
    )


def _note_sequence(event: Event, device: Device, seq: int) -> None:
    if seq > device.high_water:
        if seq > device.high_water + 1:
            DeviceGap.objects.create(device=device, first=device.high_water + 1, last=seq - 1)
        change(_HIGH_WATER, [seq, device.pk])
        return
    gap = DeviceGap.objects.filter(device=device, first__lte=seq, last__gte=seq).first()
    if gap is None:
        # The same number twice under two ids: a phone restored from an old copy. Keep both.
        words = f"A device used its number {seq} twice. Give it a new entry."
        Finding.objects.create(event=event, kind=Finding.Kind.DEVICE, words=words)
        return
    left = split((gap.first, gap.last), seq)
    gap.delete()
    for first, last in left:
        DeviceGap.objects.create(device=device, first=first, last=last)


def _result(
    place: int, event: Event, outcome: Outcome, thing: Thing, *, duplicate: bool = False
) -> Result:
    # What is stopped may belong to a job that is not this person's: the sentence alone speaks.
    named = (thing.unit or thing.place or thing.item) if outcome.verdict in TOLD else None
    return Result(
        place,
        str(event.uid),
        outcome.verdict,
        outcome.sentence,
        number=event.number,
        duplicate=duplicate,
        thing={"kind": thing.kind, "name": thing.name, "uid": str(named.uid)} if named else {},
    )


def _id_of(raw: bytes | str) -> str:
    """The id of a line that could not be read, if one can be made out: the client looks for it."""
    try:
        return str(json.loads(raw)["id"])[:36]
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""
