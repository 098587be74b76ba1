"""Whether a document is EPCIS 2.0: every fault with where it stands, nothing raised.

Source: GS1 EPCIS 2.0 section 7.4 (event types and their fields) and 10 (JSON), CBV 2.0 words in
tables/epcis_words.csv. Stricter than the published
schema in two things: what is added to or taken out of a parent names it, and a quantity is above
nought. Not looked at: what stands inside sensor reports and certificates.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

TABLE = Path(__file__).parent / "tables" / "epcis_words.csv"
VERSION = re.compile(r"2(\.\d+)*")
OFFSET = re.compile(r"[+-](0\d|1[0-3]):[0-5]\d|[+-]14:00")
URI = re.compile(r"[A-Za-z][A-Za-z0-9+.\-]*:[^\s<>\"{}|\\^`]+")
UNIT_OF_MEASURE = re.compile(r"[A-Z0-9]{2,3}")
PREFIXED = re.compile(r"([A-Za-z_][A-Za-z0-9_\-]*):(.+)")
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")

_EVERY = {
    "@context",
    "type",
    "eventTime",
    "recordTime",
    "eventTimeZoneOffset",
    "eventID",
    "certificationInfo",
    "errorDeclaration",
}
_USUAL = {
    "bizStep",
    "disposition",
    "persistentDisposition",
    "readPoint",
    "bizLocation",
    "bizTransactionList",
    "sourceList",
    "destinationList",
    "sensorElementList",
}
_CHILDREN = {"action", "parentID", "childEPCs", "childQuantityList"}
FIELDS = {
    "ObjectEvent": _EVERY | _USUAL | {"action", "epcList", "quantityList", "ilmd"},
    "AggregationEvent": _EVERY | _USUAL | _CHILDREN,
    "AssociationEvent": _EVERY | _USUAL | _CHILDREN,
    "TransactionEvent": _EVERY | _USUAL | {"action", "parentID", "epcList", "quantityList"},
    "TransformationEvent": _EVERY
    | _USUAL
    | {
        "transformationID",
        "inputEPCList",
        "inputQuantityList",
        "outputEPCList",
        "outputQuantityList",
        "ilmd",
    },
}

Faults = Iterator[str]


@cache
def words(field: str) -> frozenset[str]:
    """Return the bare words that a field may hold."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader((line for line in lines if not line.startswith("#")), delimiter=";")
    return frozenset(row["word"] for row in rows if row["field"] == field)


def faults_of(text: str | bytes) -> list[str]:
    """Return what keeps a text from being an EPCIS 2.0 document; empty: nothing."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        return [f"document: expected JSON, got {error}"]
    return list(_document(document))


def faults_of_event(number: int, event: object) -> list[str]:
    """Return what is wrong with an event, the first of a document being number 0."""
    return list(_event(f"eventList[{number}]", event, frozenset()))


def _document(document: Any) -> Faults:
    if not isinstance(document, dict):
        yield _wrong("document", "an object", document)
        return
    context = document.get("@context")
    if not context:
        yield _wrong("@context", "the EPCIS context", context)
    if document.get("type") != "EPCISDocument":
        yield _wrong("type", "EPCISDocument", document.get("type"))
    version = document.get("schemaVersion")
    if not _matches(VERSION, version):
        yield _wrong("schemaVersion", "2.0", version)
    yield from _moment("creationDate", document.get("creationDate"))
    body = document.get("epcisBody")
    events = body.get("eventList") if isinstance(body, dict) else None
    if not isinstance(events, list):
        yield _wrong("epcisBody.eventList", "a list of events", events)
        return
    for number, event in enumerate(events):
        yield from _event(f"eventList[{number}]", event, _prefixes(context))


def _prefixes(context: Any) -> frozenset[str]:
    parts = context if isinstance(context, list) else [context]
    return frozenset(name for part in parts if isinstance(part, dict) for name in part)


def _event(at: str, event: Any, prefixes: frozenset[str]) -> Faults:
    if not isinstance(event, dict):
        yield _wrong(at, "an object", event)
        return
    kind = event.get("type")
    if not isinstance(kind, str) or kind not in FIELDS:
        yield _wrong(f"{at}.type", f"one of {', '.join(FIELDS)}", kind)
        return
    known = prefixes | _prefixes(event.get("@context"))
    for name in sorted(set(event) - FIELDS[kind]):
        prefix = PREFIXED.fullmatch(name)
        if prefix is None or prefix[1] not in known:
            yield f"{at}.{name}: expected a field of {kind} or one with a prefix of @context"
    yield from _moment(f"{at}.eventTime", event.get("eventTime"))
    offset = event.get("eventTimeZoneOffset")
    if not _matches(OFFSET, offset):
        yield _wrong(f"{at}.eventTimeZoneOffset", "+hh:mm or -hh:mm", offset)
    for name, value in event.items():
        read = _READ.get(name)
        if read is not None:
            yield from read(f"{at}.{name}", value)
    yield from _whole(at, kind, event)


def _whole(at: str, kind: str, event: dict[str, Any]) -> Faults:
    """What the fields of an event must be together."""
    if kind != "TransformationEvent" and not _is_word("action", event.get("action")):
        yield _wrong(f"{at}.action", "ADD, OBSERVE or DELETE", event.get("action"))
    if kind == "ObjectEvent" and not _any(event, "epcList", "quantityList"):
        yield f"{at}: expected epcList or quantityList, got neither"
    if kind == "TransactionEvent" and not _any(event, "bizTransactionList"):
        yield f"{at}.bizTransactionList: expected at least one, got none"
    if kind in ("AggregationEvent", "AssociationEvent"):
        yield from _family(at, kind, event)
    if kind == "TransformationEvent":
        sides = [("inputEPCList", "inputQuantityList"), ("outputEPCList", "outputQuantityList")]
        if "transformationID" not in event and not all(_any(event, *side) for side in sides):
            yield f"{at}: expected inputs and outputs, or a transformationID"


def _family(at: str, kind: str, event: dict[str, Any]) -> Faults:
    observed = event.get("action") == "OBSERVE"
    if "parentID" not in event and (kind == "AssociationEvent" or not observed):
        yield f"{at}.parentID: expected what they are in or on, got none"
    if event.get("action") != "DELETE" and not _any(event, "childEPCs", "childQuantityList"):
        yield f"{at}: expected childEPCs or childQuantityList, got neither"


def _any(event: dict[str, Any], *names: str) -> bool:
    return any(event.get(name) for name in names)


def _moment(at: str, value: Any) -> Faults:
    if not _matches(MOMENT, value) or not _is_time(value):
        yield _wrong(at, "a time with its zone, as 2026-11-24T09:15:00Z", value)


def _is_time(value: str) -> bool:
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _uri(at: str, value: Any) -> Faults:
    if not _matches(URI, value):
        yield _wrong(at, "an address with its scheme (URI)", value)


def _word(field: str) -> Callable[[str, Any], Faults]:
    def read(at: str, value: Any) -> Faults:
        own = _matches(URI, value) and not str(value).startswith("urn:epcglobal:cbv:")
        if not own and not _is_word(field, value):
            yield _wrong(at, f"a {field} of CBV 2.0 or an address of one's own", value)

    return read


def _is_word(field: str, value: Any) -> bool:
    return isinstance(value, str) and value in words(field)


def _list(read: Callable[[str, Any], Faults]) -> Callable[[str, Any], Faults]:
    def each(at: str, value: Any) -> Faults:
        if not isinstance(value, list):
            yield _wrong(at, "a list", value)
            return
        for number, one in enumerate(value):
            yield from read(f"{at}[{number}]", one)

    return each


def _quantity(at: str, value: Any) -> Faults:
    if not isinstance(value, dict):
        yield _wrong(at, "an object with epcClass", value)
        return
    for name in sorted(set(value) - {"epcClass", "quantity", "uom"}):
        yield f"{at}.{name}: expected epcClass, quantity and uom only"
    yield from _uri(f"{at}.epcClass", value.get("epcClass"))
    number = value.get("quantity", 1)
    if isinstance(number, bool) or not isinstance(number, int | float) or not 0 < number < 1e300:
        yield _wrong(f"{at}.quantity", "a number above nought", number)
    if "uom" in value and not _matches(UNIT_OF_MEASURE, value["uom"]):
        yield _wrong(f"{at}.uom", "two or three capitals or digits, as KGM", value["uom"])


def _thing(**fields: Callable[[str, Any], Faults]) -> Callable[[str, Any], Faults]:
    """An object with these fields; the last of them is demanded."""
    demanded = list(fields)[-1]

    def read(at: str, value: Any) -> Faults:
        if not isinstance(value, dict) or demanded not in value:
            yield _wrong(at, f"an object with {demanded}", value)
            return
        for name, check in fields.items():
            if name in value:
                yield from check(f"{at}.{name}", value[name])

    return read


def _set_and_unset(at: str, value: Any) -> Faults:
    names = set(value) if isinstance(value, dict) else set()
    if not names or names - {"set", "unset"}:
        yield _wrong(at, "an object with set or unset", value)
        return
    for name in sorted(names):
        yield from _list(_word("disposition"))(f"{at}.{name}", value[name])


def _matches(pattern: re.Pattern[str], value: Any) -> bool:
    return isinstance(value, str) and pattern.fullmatch(value) is not None


def _wrong(at: str, expected: str, got: Any) -> str:
    return f"{at}: expected {expected}, got {repr(got)[:60]}"


_URIS = _list(_uri)
_QUANTITIES = _list(_quantity)
_PLACE = _thing(id=_uri)
_READ: dict[str, Callable[[str, Any], Faults]] = {
    "recordTime": _moment,
    "eventID": _uri,
    "parentID": _uri,
    "transformationID": _uri,
    "epcList": _URIS,
    "childEPCs": _URIS,
    "inputEPCList": _URIS,
    "outputEPCList": _URIS,
    "quantityList": _QUANTITIES,
    "childQuantityList": _QUANTITIES,
    "inputQuantityList": _QUANTITIES,
    "outputQuantityList": _QUANTITIES,
    "bizStep": _word("bizStep"),
    "disposition": _word("disposition"),
    "persistentDisposition": _set_and_unset,
    "readPoint": _PLACE,
    "bizLocation": _PLACE,
    "bizTransactionList": _list(_thing(type=_word("bizTransaction"), bizTransaction=_uri)),
    "sourceList": _list(_thing(type=_word("party"), source=_uri)),
    "destinationList": _list(_thing(type=_word("party"), destination=_uri)),
    "errorDeclaration": _thing(
        reason=_word("reason"), correctiveEventIDs=_URIS, declarationTime=_moment
    ),
}
