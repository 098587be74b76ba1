"""An event line is read strictly: what is wrong is named with what was expected and what came."""

import hashlib
import json
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger.line import LineError, parse

GOOD: dict[str, Any] = {
    "v": 1,
    "id": "01935f3e-7b00-7000-8000-000000000001",
    "device": "01935f3e-7b00-7000-8000-000000000002",
    "seq": 12,
    "at": "2026-11-25T06:10:00.000Z",
    "step": "pick",
}


def test_a_line_is_read_and_its_bytes_are_hashed() -> None:
    """The sum is over the text as it came: blanks and order of fields count."""
    raw = json.dumps({**GOOD, "text": "Größe\x1d7", "quantity": 4}, ensure_ascii=False, indent=None)
    raw = raw.replace("\x1d", "\\u001d")
    line = parse(raw.encode())

    assert (line.seq, line.step, line.text, line.quantity) == (12, "pick", "Größe\x1d7", 4)
    assert line.at.isoformat() == "2026-11-25T06:10:00+00:00"
    assert line.sha256 == hashlib.sha256(raw.encode()).hexdigest()
    assert parse(raw.replace(", ", ",  ")).sha256 != line.sha256


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"v": 2}, "v: expected 1, got 2"),
        ({"v": True}, "v: expected 1, got True"),
        ({"v": 1.0}, "v: expected 1, got 1.0"),
        ({"colour": 1}, "colour: expected one of the known fields, got 1"),
        ({"seq": 0}, "seq: expected a whole number 1 to 9007199254740992, got 0"),
        ({"seq": 1.0}, "seq: expected a whole number 1 to 9007199254740992, got 1.0"),
        ({"seq": True}, "seq: expected a whole number 1 to 9007199254740992, got True"),
        ({"seq": 2**53 + 1}, "seq: expected a whole number 1 to 9007199254740992, got 90071992547"),
        ({"quantity": -4}, "quantity: expected a whole number 1 to 1000000000, got -4"),
        (
            {"quantity": 10**10},
            "quantity: expected a whole number 1 to 1000000000, got 10000000000",
        ),
        ({"id": "1"}, "id: expected a UUID of 36 characters, got '1'"),
        ({"id": 5}, "id: expected a UUID of 36 characters, got 5"),
        # hyphens anywhere: the standard library would take it
        ({"id": "0193-5f3e7b0070008000000000000001-----"[:36]}, "id: expected a UUID of 36 char"),
        (
            {"at": "2026-11-25T06:10:00"},
            "at: expected a time with its zone, as 2026-11-25T06:10:00Z",
        ),
        ({"at": "0001-01-01T00:00:00+14:00"}, "at: expected a time with its zone"),
        ({"at": 0}, "at: expected a time with its zone"),
        ({"step": "pick up!"}, "step: expected a code of letters, digits and . _ : / -, got"),
        ({"text": "a\x00b"}, "text: expected text without control characters, got 'a\\x00b'"),
        ({"text": "a\x85b"}, "text: expected text without control characters"),
        ({"text": "\ud800"}, "text: expected text without control characters"),
        ({"text": "x" * 501}, "text: expected text of at most 500 characters, got"),
        ({"text": 7}, "text: expected text of at most 500 characters, got 7"),
        ({"via": "ear"}, "via: expected one of keys, paired, symbol, hand, photo, tap, told, got"),
        ({"via": ["keys"]}, "via: expected one of keys, paired, symbol, hand, photo, tap, told"),
        ({"photo": "ab"}, "photo: expected 64 hexadecimal digits, got 'ab'"),
        ({"taken": "yesterday"}, "taken: expected a time with its zone"),
        (
            {"spot": "geo:90.1,0"},
            "spot: expected a place on the earth, as geo:52.500000,13.400000;u",
        ),
        ({"spot": "geo:0,-180.5"}, "spot: expected a place on the earth"),
        ({"spot": "geo:1,2,3;crs=x"}, "spot: expected a place on the earth"),
        ({"position": {"stack": 1}}, 'position: expected an object {"stack", "level"}, got'),
        ({"position": {"stack": 0, "level": 1}}, "position.stack: expected a whole number 1 to 99"),
        ({"rearm": "yes"}, "rearm: expected true or false, got 'yes'"),
        ({"since": 7}, "since: expected a record mark, as SIZE:ROOT, got 7"),
        ({"since": f"07:{'0' * 64}"}, "since: expected a record mark, as SIZE:ROOT, got '07:000"),
        ({"since": f"7:{'F' * 64}"}, "since: expected a record mark, as SIZE:ROOT, got '7:FFF"),
        ({"since": f"7:{'0' * 64}\n"}, "since: expected a record mark, as SIZE:ROOT, got '7:000"),
        ({"due": "11:30"}, "due: expected a time with its zone, as 2026-11-25T06:10:00Z, got '11:"),
        ({"reverses": None}, "reverses: expected a UUID of 36 characters, got None"),
    ],
)
def test_a_wrong_field_is_named(more: dict[str, Any], message: str) -> None:
    """Field, what was expected, what came."""
    with pytest.raises(LineError) as refusal:
        parse(json.dumps(GOOD | more))

    assert str(refusal.value).startswith(message)
    assert refusal.value.field == message.partition(":")[0]


def test_a_line_may_say_which_record_mark_was_known() -> None:
    """Lines of before the field was there say nothing of it and are read as they always were."""
    assert parse(json.dumps(GOOD)).since == ""
    assert parse(json.dumps(GOOD | {"since": f"0:{'a' * 64}"})).since == f"0:{'a' * 64}"


def test_a_line_may_say_where_its_photo_was_taken() -> None:
    """The URIs are those of RFC 5870, section 6.1 and 6.3, from memory: altitude is not asked."""
    for spot in ("geo:13.4125,103.8667", "geo:48.2010,16.3695;u=40", "geo:-90,180"):
        line = parse(json.dumps(GOOD | {"spot": spot, "taken": "2026-11-25T13:30:00+02:00"}))
        assert line.spot == spot
        assert line.taken is not None
        assert line.taken.isoformat() == "2026-11-25T11:30:00+00:00"
    assert (parse(json.dumps(GOOD)).spot, parse(json.dumps(GOOD)).taken) == ("", None)


def test_a_line_may_say_when_something_is_promised_for() -> None:
    """In UTC, wherever it was said; lines of before the field was there promise nothing."""
    line = parse(json.dumps(GOOD | {"due": "2026-11-25T13:30:00+02:00"}))

    assert parse(json.dumps(GOOD)).due is None
    assert line.due is not None
    assert line.due.isoformat() == "2026-11-25T11:30:00+00:00"


@pytest.mark.parametrize("name", ["id", "device", "seq", "at", "step"])
def test_a_missing_field_is_named(name: str) -> None:
    """Five fields no event can do without, and the version."""
    with pytest.raises(LineError) as refusal:
        parse(json.dumps({k: v for k, v in GOOD.items() if k != name}))

    assert str(refusal.value) == f"{name}: expected a value, got None"


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        ('{"v":1,"v":1}', "v: expected each field once, got 1"),
        ('{"v":1,"position":{"stack":1,"stack":1}}', "stack: expected each field once, got 1"),
        ('{"v":1,"seq":NaN}', "line: expected plain numbers, got 'NaN'"),
        ('{"v":1,"seq":-Infinity}', "line: expected plain numbers, got '-Infinity'"),
        ('{"v":1,"seq":1e999}', "id: expected a value, got None"),  # infinite, and no id
        ("[1]", "line: expected one JSON object, got '[1]'"),
        ("[" * 4000, "line: expected one JSON object, got '[[["),
        ("{" * 10_000, "line: expected at most 4096 bytes, got 10000"),
        ("é" * 3000, "line: expected at most 4096 bytes, got 6000"),
        (b"\xff", "line: expected UTF-8 text, got b'\\xff'"),
        ("\ufeff{}", "line: expected one JSON object, got"),
        ("", "line: expected one JSON object, got ''"),
    ],
)
def test_a_line_that_is_no_object_is_refused(raw: str | bytes, message: str) -> None:
    """Doubled keys, numbers that are none, depth, length, encoding."""
    with pytest.raises(LineError) as refusal:
        parse(raw)

    assert str(refusal.value).startswith(message)


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(), st.lists, max_leaves=5))
def test_no_value_of_a_field_brings_it_down(value: Any) -> None:
    """Whatever JSON can say in a field is read or refused in words."""
    for name in ("id", "seq", "at", "text", "position", "via", "rearm", "quantity", "since"):
        with suppress(LineError):
            assert parse(json.dumps(GOOD | {name: value})).step == "pick"
