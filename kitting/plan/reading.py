"""Reads one table of a family file key by key, and keeps every fault instead of stopping at the
first."""

from collections.abc import Collection, Iterator
from typing import Final, TypeGuard

from kitting.plan.errors import Fault

LARGEST: Final = 10_000_000
"""No figure in a family is larger (10 km, 10 t, 10 litres): beyond it a zero too many was typed."""

Toml = dict[str, object]


class Table:
    """A TOML table whose keys are taken one by one; what is left over is a fault."""

    def __init__(self, data: object, where: str, faults: list[Fault]) -> None:
        self.where = where
        self.faults = faults
        self.taken: set[str] = set()
        self.data: Toml = data if isinstance(data, dict) else {}
        if not isinstance(data, dict):
            self.fault("", f"expected a table, got {shown(data)}")

    def fault(self, key: str, message: str) -> None:
        """Note one fault under this table."""
        self.faults.append(Fault(self.where, key, message))

    def has(self, key: str) -> bool:
        """Whether the key was written."""
        return key in self.data

    def take(self, key: str, wanted: str) -> object:
        """The raw value, or None with a fault "expected `wanted`, got nothing"."""
        self.taken.add(key)
        if key not in self.data:
            self.fault(key, f"expected {wanted}, got nothing")
        return self.data.get(key)

    def text(self, key: str, default: str | None = None, among: Collection[str] = ()) -> str:
        """A text without control characters, out of `among` if that is given."""
        if default is not None and key not in self.data:
            return default
        wanted = f"one of {', '.join(among)}" if among else "a text"
        value = self.take(key, wanted)
        if value is None:
            return ""
        if not isinstance(value, str) or not plain(value) or (among and value not in among):
            self.fault(key, f"expected {wanted}, got {shown(value)}")
            return ""
        return value

    def whole(self, key: str, low: int = 0, high: int = LARGEST, default: int | None = None) -> int:
        """A whole number from low to high, both ends allowed."""
        if default is not None and key not in self.data:
            return default
        wanted = f"a whole number from {low} to {high}"
        value = self.take(key, wanted)
        if value is None:
            return low
        if not is_whole(value) or not low <= value <= high:
            self.fault(key, f"expected {wanted}, got {shown(value)}")
            return low
        return value

    def flag(self, key: str, default: bool | None = None) -> bool:
        """true or false."""
        if default is not None and key not in self.data:
            return default
        value = self.take(key, "true or false")
        if value is not None and not isinstance(value, bool):
            self.fault(key, f"expected true or false, got {shown(value)}")
        return value is True

    def texts(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """A text, or a list of texts that is not empty."""
        if default is not None and key not in self.data:
            return default
        value = self.take(key, "a list of texts")
        found = [value] if isinstance(value, str) else value
        if isinstance(found, list) and found and all(isinstance(t, str) for t in found):
            return tuple(found)
        if value is not None:
            self.fault(key, f"expected a list of texts, got {shown(value)}")
        return ()

    def counts(self, key: str, required: bool = True) -> dict[str, int]:
        """A table of positive whole numbers, as { bolt = 4 }."""
        if not required and key not in self.data:
            return {}
        value = self.take(key, "a table of positive whole numbers")
        if value is None:
            return {}
        inner = Table(value, f"{self.where}: {key}", self.faults)
        if isinstance(value, dict) and not value:
            self.fault(key, "expected at least one entry, got none")
        return {name: inner.whole(name, 1) for name in inner.data}

    def pair(self, key: str) -> tuple[int, int]:
        """Two whole numbers, the first not above the second."""
        value = self.take(key, "[least, most]")
        if isinstance(value, list) and len(value) == 2:
            low, high = value
            if is_whole(low) and is_whole(high) and low <= high:
                return low, high
        if value is not None:
            self.fault(key, f"expected [least, most], got {shown(value)}")
        return 0, 0

    def pairs(self, key: str) -> tuple[tuple[int, int], ...]:
        """A list of [least, most]; none where it is not written."""
        if key not in self.data:
            return ()
        value = self.take(key, "a list of [least, most]")
        if not isinstance(value, list) or not value:
            self.fault(key, f"expected a list of [least, most], got {shown(value)}")
            return ()
        inner = Table({str(i): pair for i, pair in enumerate(value, 1)}, self.where, self.faults)
        inner.where += f": {key}"
        return tuple(inner.pair(number) for number in inner.data)

    def inner(self, key: str) -> "Table | None":
        """A table inside this one, or None where it is not written."""
        if key not in self.data:
            return None
        self.taken.add(key)
        return Table(self.data[key], f"{self.where}: {key}", self.faults)

    def rows(self, key: str) -> Iterator["Table"]:
        """Each table of a list of tables; none where the key is not written."""
        self.taken.add(key)
        value = self.data.get(key, [])
        if not isinstance(value, list):
            self.fault(key, f"expected a list of tables, got {shown(value)}")
            return
        for number, row in enumerate(value, 1):
            yield Table(row, f"{self.where}: {key} {row_name(row, number)}", self.faults)

    def finish(self) -> None:
        """Whatever was written but never taken is a fault: a misspelt key must not be silence."""
        for key in self.data:
            if key not in self.taken:
                known = ", ".join(sorted(self.taken)) or "nothing"
                self.fault(key, f"expected only {known}, got the key {key!r}")


def row_name(row: object, number: int) -> str:
    """How a row is named in a fault: by its own name where it has one.

    >>> row_name({"code": "M6"}, 4), row_name({}, 4)
    ("'M6'", '4')
    """
    if isinstance(row, dict):
        for key in ("name", "code", "key"):
            if isinstance(row.get(key), str):
                return repr(row[key])
    return str(number)


def is_whole(value: object) -> TypeGuard[int]:
    """A whole number; true and false are not numbers here.

    >>> is_whole(3), is_whole(True), is_whole(2.0)
    (True, False, False)
    """
    return isinstance(value, int) and not isinstance(value, bool)


def plain(text: str) -> bool:
    """A short text on one line, without control characters.

    >>> plain("dc run"), plain("a\\x00b"), plain("")
    (True, False, False)
    """
    return 0 < len(text) <= 500 and text.isprintable()


def shown(value: object) -> str:
    """A value as a fault shows it: short.

    >>> shown("x" * 100)[-4:], shown(None)
    ('x...', 'nothing')
    """
    if value is None:
        return "nothing"
    text = ascii(value)
    return text if len(text) <= 60 else text[:57] + "..."
