"""One event as it travels: a line of JSON text, read strictly and kept as the bytes that came.

A line that was ever accepted stays acceptable: `v` names the version of its shape. Unknown keys,
doubled keys, NaN and control characters are refused, each with the field, what was expected
and what came.
"""

from __future__ import annotations

import hashlib
import json
import re
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

LONGEST = 4096  # bytes of one line
MOST = 1_000_000_000  # largest quantity in base units (a thousand kilometres in mm)
MARK = "(?:0|[1-9][0-9]{0,17}):[0-9a-f]{64}"  # a record mark, as SIZE:ROOT
# Latitude, longitude in degrees with at most six places, how far off it may be in whole metres.
GEO = r"geo:(-?[0-9]{1,2}(?:\.[0-9]{1,6})?),(-?[0-9]{1,3}(?:\.[0-9]{1,6})?)(?:;u=[0-9]{1,7})?"
VIAS = ("keys", "paired", "symbol", "hand", "photo", "tap", "told")  # told: by telephone
# Separators of ISO/IEC 15434 and GS1 element strings are data; every other control is refused.
_CONTROL = re.compile("[\x00-\x03\x05-\x1b\x7f-\x9f\ud800-\udfff]")
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._:/-]{0,59}")


class LineError(ValueError):
    """A line cannot be an event: `field`, what was `expected`, what came (`got`, cut short)."""

    def __init__(self, field: str, expected: str, got: object) -> None:
        shown = repr(got)
        self.field, self.expected, self.got = field, expected, shown[:80]
        super().__init__(f"{field}: expected {expected}, got {self.got}")


@dataclass(frozen=True, slots=True)
class Position:
    """Where a unit stands in a stack."""

    stack: int  # 1 = first
    level: int  # 1 = lowest or nearest the wall


@dataclass(frozen=True, slots=True)
class Line:
    """An event as read from its line."""

    raw: str  # the text exactly as it came
    id: uuid.UUID  # made by the client, unique for ever
    device: uuid.UUID
    seq: int  # the device's own number, 1 up
    at: datetime  # the device's clock, UTC
    step: str
    text: str = ""  # what was scanned or typed
    via: str = "tap"  # how it came: one of VIAS
    target: str = ""  # code of the place it goes to
    start: str = ""  # code of the place the person takes it from ("from" in the line)
    companion: str = ""  # a second scanned text ("with"): the serial in a box, the unit replaced
    subject: str = ""  # opaque here: "kit:<code>"
    quantity: int | None = None  # base units; None: what the code stands for
    position: Position | None = None
    number: int | None = None  # number shown on screen for a fitted unit
    photo: str = ""  # SHA-256 of a stored photo, hex
    taken: datetime | None = None  # when the photo was taken by the phone's clock, UTC
    spot: str = ""  # where: a geo URI (RFC 5870), WGS 84, its u in metres
    note: uuid.UUID | None = None
    reason: str = ""
    reverses: uuid.UUID | None = None  # the event this one undoes
    rearm: bool = True  # the code was gone from view, or 1.5 s passed, since it was last read
    kind: str = ""  # what sort of problem, return or arrival
    hands: str = ""  # badge of who held the scanner, where another one is signed in
    since: str = ""  # SIZE:ROOT of the record mark that the client last knew of
    due: datetime | None = None  # when something is promised for, UTC
    firmware: str = ""  # as a screen shows it

    @property
    def sha256(self) -> str:
        """SHA-256 of the bytes that came, hex."""
        return hashlib.sha256(self.raw.encode()).hexdigest()


def parse(raw: bytes | str) -> Line:
    """Read one line. Raises LineError naming the first field that is wrong."""
    text = _decoded(raw)
    data = _object(text)
    unknown = sorted(set(data) - set(_FIELDS) - {"v"})
    if unknown:
        raise LineError(unknown[0], "one of the known fields", data[unknown[0]])
    if type(data.get("v")) is not int or data["v"] != 1:
        raise LineError("v", "1", data.get("v"))
    missing = [name for name in ("id", "device", "seq", "at", "step") if name not in data]
    if missing:
        raise LineError(missing[0], "a value", None)
    values = {}
    for name, value in data.items():
        if name != "v":
            attribute, read = _FIELDS[name]
            values[attribute] = read(name, value)
    return Line(raw=text, **values)


def _decoded(raw: bytes | str) -> str:
    if len(raw) > LONGEST:
        raise LineError("line", f"at most {LONGEST} bytes", len(raw))
    try:
        text = raw.decode() if isinstance(raw, bytes) else raw
        if len(text.encode()) > LONGEST:
            raise LineError("line", f"at most {LONGEST} bytes", len(text.encode()))
    except UnicodeError:
        raise LineError("line", "UTF-8 text", raw[:40]) from None
    return text


def _object(text: str) -> dict[str, Any]:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        seen: dict[str, Any] = {}
        for name, value in pairs:
            if name in seen:
                raise LineError(name, "each field once", value)
            seen[name] = value
        return seen

    def never(constant: str) -> None:
        raise LineError("line", "plain numbers", constant)

    try:
        data = json.loads(text, object_pairs_hook=once, parse_constant=never)
    except (json.JSONDecodeError, RecursionError):
        raise LineError("line", "one JSON object", text[:40]) from None
    if not isinstance(data, dict):
        raise LineError("line", "one JSON object", text[:40])
    return data


def _text(most: int) -> Callable[[str, Any], str]:
    def read(name: str, value: Any) -> str:
        if not isinstance(value, str) or len(value) > most:
            raise LineError(name, f"text of at most {most} characters", value)
        if _CONTROL.search(value):
            raise LineError(name, "text without control characters", value)
        return value

    return read


def _code(name: str, value: Any) -> str:
    if not isinstance(value, str) or not _CODE.fullmatch(value):
        raise LineError(name, "a code of letters, digits and . _ : / -", value)
    return value


def place_code(text: str) -> str:
    """Return a code that a line can name as its target. Raises LineError."""
    return _code("code", text)


def _uuid(name: str, value: Any) -> uuid.UUID:
    try:
        # The class itself takes hyphens anywhere.
        if not isinstance(value, str) or str(uuid.UUID(value)) != value.lower():
            raise ValueError
        return uuid.UUID(value)
    except ValueError:
        raise LineError(name, "a UUID of 36 characters", value) from None


def _whole(least: int, most: int) -> Callable[[str, Any], int]:
    def read(name: str, value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
            raise LineError(name, f"a whole number {least} to {most}", value)
        return value

    return read


def _time(name: str, value: Any) -> datetime:
    try:
        if not isinstance(value, str):
            raise ValueError
        moment = datetime.fromisoformat(value)
        if moment.tzinfo is None:
            raise ValueError
        return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        raise LineError(name, "a time with its zone, as 2026-11-25T06:10:00Z", value) from None


def _via(name: str, value: Any) -> str:
    if value not in VIAS:
        raise LineError(name, "one of " + ", ".join(VIAS), value)
    return str(value)


def _sha256(name: str, value: Any) -> str:
    if not isinstance(value, str) or not re.fullmatch("[0-9a-f]{64}", value):
        raise LineError(name, "64 hexadecimal digits", value)
    return value


def _spot(name: str, value: Any) -> str:
    found = re.fullmatch(GEO, value) if isinstance(value, str) else None
    if found is None or abs(float(found[1])) > 90 or abs(float(found[2])) > 180:
        raise LineError(name, "a place on the earth, as geo:52.500000,13.400000;u=20", value)
    return found[0]


def _mark(name: str, value: Any) -> str:
    if not isinstance(value, str) or not re.fullmatch(MARK, value):
        raise LineError(name, "a record mark, as SIZE:ROOT", value)
    return value


def _position(name: str, value: Any) -> Position:
    if not isinstance(value, dict) or set(value) != {"stack", "level"}:
        raise LineError(name, 'an object {"stack", "level"}', value)
    one = _whole(1, 99)
    return Position(one(f"{name}.stack", value["stack"]), one(f"{name}.level", value["level"]))


def _flag(name: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise LineError(name, "true or false", value)
    return value


_FIELDS: dict[str, tuple[str, Callable[[str, Any], Any]]] = {
    "id": ("id", _uuid),
    "device": ("device", _uuid),
    "seq": ("seq", _whole(1, 2**53)),
    "at": ("at", _time),
    "step": ("step", _code),
    "text": ("text", _text(500)),
    "via": ("via", _via),
    "target": ("target", _code),
    "from": ("start", _code),
    "with": ("companion", _text(500)),
    "subject": ("subject", _code),
    "quantity": ("quantity", _whole(1, MOST)),
    "position": ("position", _position),
    "number": ("number", _whole(0, 9999)),
    "photo": ("photo", _sha256),
    "taken": ("taken", _time),
    "spot": ("spot", _spot),
    "note": ("note", _uuid),
    "reason": ("reason", _text(200)),
    "reverses": ("reverses", _uuid),
    "rearm": ("rearm", _flag),
    "kind": ("kind", _code),
    "hands": ("hands", _code),
    "since": ("since", _mark),
    "due": ("due", _time),
    "firmware": ("firmware", _text(60)),
}
