"""Checks of what arrived and what was decided: lines, numbers, scans, marks, reversals."""

import json
from itertools import chain

from django.db import connection
from django.db.models import Max

from inventory import badges
from inventory.checks.report import Check, Report
from inventory.ledger import tree
from inventory.ledger.line import Line, LineError, parse
from inventory.ledger.sequence import missing
from inventory.models import (
    Device,
    DeviceGap,
    Event,
    Held,
    Outcome,
    RecordMark,
    Reversal,
    Scan,
    guard,
)

MOVING = frozenset({"applied", "problem"})  # verdicts under which something may have moved
VERDICTS = MOVING | {"noted", "dispute", "stopped", "waiting"}
AT_ONCE = 2000  # rows fetched at a time


def lines() -> Report:
    """Each line hashes to its sum, reads as an event, and says what the columns say."""
    report = Report()
    for event in Event.objects.select_related("device").iterator(chunk_size=AT_ONCE):
        report.read += 1
        try:
            line = parse(event.line)
        except LineError as error:
            report.problems.append(f"event {event.number}: its line is no event: {error}")
            continue
        report.expect(line.sha256 == event.sha256, f"event {event.number}: its line was changed")
        for name in _differing(event, line):
            report.problems.append(f"event {event.number}: {name} differs from its line")
    return report


def _differing(event: Event, line: Line) -> list[str]:
    pairs = {
        "id": (event.uid, line.id),
        "step": (event.step, line.step),
        "device": (event.device.uid, line.device),
        "seq": (event.seq, line.seq),
        "at": (event.device_time, line.at),
        "subject": (event.subject, line.subject),
    }
    return [name for name, (column, said) in pairs.items() if column != said]


def numbers() -> Report:
    """Events and outcomes together are numbered 1, 2, 3 ... without a hole."""
    report = Report()
    tables = (Event.objects.all(), Outcome.objects.order_by())
    columns = [rows.values_list("number", flat=True) for rows in tables]
    found = sorted(chain(*(column.iterator(chunk_size=AT_ONCE) for column in columns)))
    report.read = len(found)
    for expected, number in enumerate(found, 1):
        if number != expected:
            report.problems.append(f"number {expected} expected, {number} found")
            break
    return report


def outcomes() -> Report:
    """Each event has an outcome after it, and each outcome's line says what the columns say."""
    report = Report()
    decided: set[int] = set()
    for outcome in Outcome.objects.select_related("event").iterator(chunk_size=AT_ONCE):
        report.read += 1
        decided.add(outcome.event_id)
        said = {
            "event": str(outcome.event.uid),
            "sentence": outcome.sentence,
            "verdict": outcome.verdict,
        }
        name = f"outcome {outcome.number}"
        report.expect(json.loads(outcome.line) == said, f"{name} differs from its line")
        report.expect(outcome.verdict in VERDICTS, f"{name}: no verdict {outcome.verdict!r}")
        report.expect(outcome.number > outcome.event.number, f"{name} stands before its event")
    # No statement carries a firm's years of numbers: PostgreSQL takes 65,535 at once.
    for pk, number in Event.objects.values_list("pk", "number").iterator(chunk_size=AT_ONCE):
        report.expect(pk in decided, f"event {number} has no outcome")
    return report


def only_what_was_decided_moved() -> Report:
    """Nothing moved for an event that was noted, stopped, disputed or waits."""
    report = Report()
    for event in Event.objects.annotate(last=Max("outcomes__number")).iterator(chunk_size=AT_ONCE):
        report.read += 1
        verdict = Outcome.objects.filter(number=event.last).values_list("verdict", flat=True)
        if not set(verdict) <= MOVING:
            moved = event.movements.exists() or event.container_moves.exists()
            report.expect(not moved, f"event {event.number} moved something though {verdict[0]}")
    return report


def scans() -> Report:
    """Each event with a text has one scan of that text, and each scan its event."""
    report = Report()
    texts = {pk: (text, via) for pk, text, via in Scan.objects.values_list("event", "text", "via")}
    report.read = len(texts)
    for pk, number, raw in Event.objects.values_list("pk", "number", "line").iterator(AT_ONCE):
        data = json.loads(raw)
        said = (data.get("text", ""), data.get("via", "tap"))
        scanned = texts.pop(pk, None)
        if scanned is None:
            report.expect(not said[0], f"event {number} says {said[0]!r} and has no scan")
        else:
            report.expect(scanned == said, f"event {number} says {said}, its scan {scanned}")
    report.problems += [f"a scan of {text!r} has no event" for text, _ in texts.values()]
    return report


def hands() -> Report:
    """Who held the scanner is whom the badge in the event's line names, and nobody else did."""
    report = Report()
    kept = dict(Held.objects.values_list("event", "person"))
    report.read = len(kept)
    told = Event.objects.filter(line__contains='"hands":').values_list("pk", "number", "line")
    for pk, number, raw in told.iterator(AT_ONCE):
        person = badges.named(str(json.loads(raw).get("hands", "")))
        said = person.pk if person is not None else None  # before it was asked for, any text came
        report.expect(kept.pop(pk, None) == said, f"event {number}: its hands are not its badge's")
    report.problems += [f"event row {pk} has hands and no badge" for pk in kept]
    return report


def sequences() -> Report:
    """Each device's highest number and gaps are those of its events."""
    report = Report()
    for device in Device.objects.all():
        report.read += 1
        seqs = list(Event.objects.filter(device=device).values_list("seq", flat=True))
        gaps = DeviceGap.objects.filter(device=device).order_by("first")
        stored = list(gaps.values_list("first", "last"))
        report.expect(device.high_water == max(seqs, default=0), f"device {device.uid}: highest")
        report.expect(stored == missing(seqs), f"device {device.uid}: gaps are {stored}")
    return report


def reversals() -> Report:
    """Each undo names the event that it undid, once, and the two together moved nothing."""
    report = Report()
    for undone in Reversal.objects.select_related("event", "reversed"):
        report.read += 1
        name = f"event {undone.event.number}"
        said = parse(undone.event.line).reverses
        report.expect(said == undone.reversed.uid, f"{name} undid another event than it names")
        report.expect(undone.event.number > undone.reversed.number, f"{name} came before")
        left: dict[tuple[int, int, int | None], int] = {}
        for move in chain(undone.event.movements.all(), undone.reversed.movements.all()):
            for place, sign in ((move.from_place_id, -1), (move.to_place_id, 1)):
                at = (place, move.lot_id, move.unit_id)
                left[at] = left.get(at, 0) + sign * move.quantity
        report.expect(not any(left.values()), f"{name} did not put back what it undid")
    undos = Event.objects.filter(step="undo", outcomes__verdict="applied", reversal=None)
    report.problems += [f"event {undo.number} undid nothing" for undo in undos]
    return report


def triggers() -> Report:
    """Every trigger that keeps the ledger from being changed stands."""
    report = Report(read=len(guard.names(connection)))
    report.problems = [f"trigger {name} is missing" for name in guard.missing(connection)]
    return report


def marks() -> Report:
    """The tree of record marks, grown again from the lines, has each mark's size, root, peaks."""
    report = Report()
    entries = sorted(
        chain(
            Event.objects.values_list("number", "line"),
            Outcome.objects.order_by().values_list("number", "line"),
        )
    )
    size, peaks = 0, list[bytes]()
    for mark in RecordMark.objects.order_by("size"):
        report.read += 1
        fresh = [tree.leaf(line.encode()) for _, line in entries[size : mark.size]]
        size, peaks = tree.grow(size, peaks, fresh)
        name = f"mark {mark.size}"
        report.expect(size == mark.size, f"{name} covers more entries than there are")
        report.expect(tree.root(peaks).hex() == mark.root, f"{name}: root differs from the lines")
        report.expect([p.hex() for p in peaks] == mark.peaks, f"{name}: peaks differ")
    report.expect(size == len(entries), f"{len(entries) - size} entries stand under no mark")
    return report


CHECKS = (
    Check("event lines are what came", Event, lines),
    Check("numbers run without a hole", Event, numbers),
    Check("outcomes stand", Outcome, outcomes),
    Check("only what was decided moved", Event, only_what_was_decided_moved),
    Check("scans and events agree", Scan, scans),
    Check("hands are the badges' own", Held, hands),
    Check("devices' numbers and gaps", Device, sequences),
    Check("what was undone is put back", Reversal, reversals),
    Check("the tables only grow", Event, triggers),
    Check("record marks", RecordMark, marks),
)
