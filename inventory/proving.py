"""A file about one serial that a third party can check without us: see ledger/check_proof.py."""

from __future__ import annotations

import hashlib
import heapq
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID

from inventory.ledger import check_proof
from inventory.ledger.inclusion import consistency, hashes, inclusion
from inventory.models import Event, Outcome, RecordMark
from inventory.scanning import resolve
from inventory.tracing import chain, seekable


class NoProof(ValueError):
    """Nothing can be proved; the sentence says why."""


def proof_of(text: str, since: Sequence[int] = ()) -> bytes:
    """Return the proof file of the unit a text means, tied to the newest record mark.

    since: sizes of older marks, as printed on sheets, to show that the record only grew.
    Raises NoProof where the text means no unit, there was no mark of that size, or the record does
    not lead to its mark any more.
    """
    unit = resolve(seekable(text), "hand").unit
    if unit is None:
        raise NoProof(f"serial: expected one that is known here, got {text!r}")
    latest = RecordMark.objects.order_by("-size").first()
    story = chain(text)
    if latest is None or not story.links:
        raise NoProof(f"serial: expected one that events tell of, got {text!r}")
    if story.cut:
        raise NoProof(f"serial: expected one whose whole chain can be told, got {text!r}")
    marks = [_mark(size) for size in sorted(set(since))]
    lines = _entries_of({link.event for link in story.links}, latest.size)
    ranges = {number: inclusion(number - 1, latest.size) for number in lines}
    grown = {mark.size: consistency(mark.size, latest.size) for mark in marks}
    asked = [one for path in [*ranges.values(), *grown.values()] for one in path]
    found = hashes(entries_up_to(latest.size), asked)
    raw = _written(
        {
            "v": 1,
            "serial": unit.serial,
            "item": unit.item.code,
            "size": latest.size,
            "root": latest.root,
            "entries": [
                {
                    "number": number,
                    "line": line,
                    "path": [found[one].hex() for one in ranges[number]],
                }
                for number, line in sorted(lines.items())
            ],
            "since": [
                {
                    "size": mark.size,
                    "root": mark.root,
                    "path": [found[one].hex() for one in grown[mark.size]],
                }
                for mark in marks
            ],
        }
    )
    try:
        check_proof.check(check_proof.read(raw))
    except check_proof.Broken as broken:
        raise NoProof(f"the record is not as its mark says: {broken}; run the audit") from None
    return raw


def typed_words(body: Mapping[str, Any]) -> list[str]:
    """Return the words in a proof's entries that people typed as a reason, each once.

    Notes and names of people are not in an entry; a reason is, and may name somebody all the same.
    """
    lines = (json.loads(entry["line"]) for entry in body["entries"])
    return list(dict.fromkeys(line["reason"] for line in lines if line.get("reason")))


def _mark(size: int) -> RecordMark:
    mark = RecordMark.objects.filter(size=size).first()
    if mark is None:
        raise NoProof(f"since: expected the size of a record mark, as printed, got {size}")
    return mark


def _entries_of(uids: set[UUID], size: int) -> dict[int, str]:
    """Return number -> line of these events and of all that was decided about them."""
    events = Event.objects.filter(uid__in=uids, number__lte=size)
    outcomes = Outcome.objects.filter(event__uid__in=uids, number__lte=size)
    return dict([*events.values_list("number", "line"), *outcomes.values_list("number", "line")])


def entries_up_to(size: int) -> Iterator[bytes]:
    """All entries up to a size in the order of their numbers."""
    sources = (
        model.objects.filter(number__lte=size)
        .order_by("number")
        .values_list("number", "line")
        .iterator(chunk_size=5000)
        for model in (Event, Outcome)
    )
    return (line.encode() for _, line in heapq.merge(*sources))


def _written(body: dict[str, object]) -> bytes:
    line = json.dumps(body, ensure_ascii=True, separators=(",", ":"), sort_keys=True).encode()
    return line + b"\n" + hashlib.sha256(line).hexdigest().encode() + b"\n"
