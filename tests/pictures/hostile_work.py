"""What a decoder that goes wrong does; runs inside the child in place of the real work."""

import ctypes
import os
import time
from collections.abc import Iterator
from pathlib import Path

Answers = Iterator[tuple[dict[str, object], bytes]]


def crash(head: dict[str, object], data: bytes) -> Answers:
    """Read from address zero, as a double free or a wild pointer would."""
    ctypes.string_at(0)
    yield {}, b""


def sleep(head: dict[str, object], data: bytes) -> Answers:
    """Never answer."""
    time.sleep(60)
    yield {}, b""


def spin(head: dict[str, object], data: bytes) -> Answers:
    """Use the processor for ever."""
    while True:
        pass
    yield {}, b""


def swell(head: dict[str, object], data: bytes) -> Answers:
    """Take memory until there is none."""
    hoard = []
    while True:
        hoard.append(bytearray(50_000_000))
    yield {}, b""


def crash_once(head: dict[str, object], data: bytes) -> Answers:
    """Die of the first photo, be well with the second: `data` names a file that remembers."""
    mark = Path(data.decode())
    if not mark.exists():
        mark.touch()
        os.abort()
    yield {"size": [40, 40], "note": ""}, b""
    yield {"step": "echo", "joined": False, "hits": [["A1B2", "QR", [1, 2, 3, 4], True]]}, b""


def echo(head: dict[str, object], data: bytes) -> Answers:
    """Say who answers, then count up for ever."""
    yield {"pid": os.getpid(), "environment": sorted(os.environ)}, data
    number = 0
    while True:
        number += 1
        yield {"number": number}, b""


def crash_on_word(head: dict[str, object], data: bytes) -> Answers:
    """Die of the one word, repeat any other."""
    if data == b"crash":
        os.abort()
    yield {"said": data.decode()}, b""
