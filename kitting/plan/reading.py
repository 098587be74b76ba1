"""Reads one table of a family file key by key, and keeps every fault instead of stopping at the
first."""

from collections.abc import Collection, Iterable, Iterator, Set
from difflib import get_close_matches
from typing import Final, TypeGuard

from kitting.plan.errors import Fault

LARGEST: Final = 10_000_000
"""No figure in a family is larger (10 km, 10 t, 10 litres): beyond it a zero too many was typed."""
MANY: Final = 12
"""Of more words than these only the nearest are told, where any is near."""

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

    def key_of(self, word: str) -> str:
        """The key under which a word is written, however deep."""
        return next((key for key, value in self.data.items() if mentions(value, word)), "")

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
        self.taken.add(key)
        if default is not None and key not in self.data:
            return default
        value = self.take(key, f"one of {', '.join(among)}" if among else "a text")
        if value is None:
            return ""
        if not isinstance(value, str) or not plain(value):
            self.fault(key, f"expected a text, got {shown(value)}")
        elif among and value not in among:
            self.unknown(key, value, among)
        else:
            return value
        return ""

    def unknown(self, key: str, got: str, known: Collection[str]) -> None:
        """Note that a word is none of those known, with what may have been meant; silent where one
        of those could not be read itself: that is a fault already."""
        if "" in known:
            return
        close = near(got, known, 0.6)
        told = f"one of {', '.join(sorted(known) if isinstance(known, Set) else known)}"
        if close and len(known) > MANY:
            told = f"one of {len(known)} known words"
        self.fault(key, f"expected {told}, got {shown(got)}{close}")

    def whole(self, key: str, low: int = 0, high: int = LARGEST, default: int | None = None) -> int:
        """A whole number from low to high, both ends allowed."""
        self.taken.add(key)
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
        self.taken.add(key)
        if default is not None and key not in self.data:
            return default
        value = self.take(key, "true or false")
        if value is not None and not isinstance(value, bool):
            self.fault(key, f"expected true or false, got {shown(value)}")
        return value is True

    def texts(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """A text, or a list of texts that is not empty."""
        self.taken.add(key)
        if default is not None and key not in self.data:
            return default
        value = self.take(key, "a text or a list of texts")
        found = [value] if isinstance(value, str) else value
        if isinstance(found, list) and found and all(isinstance(t, str) for t in found):
            return tuple(found)
        if value is not None:
            self.fault(key, f"expected a text or a list of at least one, got {shown(value)}")
        return ()

    def counts(self, key: str, required: bool = True) -> dict[str, int]:
        """A table of positive whole numbers, as { bolt = 4 }."""
        self.taken.add(key)
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
        self.taken.add(key)
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
        self.taken.add(key)
        if key not in self.data:
            return None
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
        missing = {f.key: f for f in self.faults if f.where == self.where and f.key in self.taken}
        for key in self.data:
            if key in self.taken:
                continue
            meant = get_close_matches(key, missing.keys() - self.data.keys(), 1)
            if meant:
                # The key that is missing and the one too many are one slip.
                self.faults.remove(missing.pop(meant[0]))
                self.fault(key, f"expected the key {meant[0]!r}, got {key!r}")
                continue
            known = ", ".join(sorted(self.taken)) or "nothing"
            close = near(key, self.taken - self.data.keys(), 0.6)
            wanted = "a known key" if close else f"only {known}"
            self.fault(key, f"expected {wanted}, got the key {key!r}{close}")


def mentions(value: object, word: str) -> bool:
    """Whether a word stands in a value, in any list or table of it.

    >>> mentions([{"gives": {"bolt": 2}}], "bolt"), mentions("nut", "bolt")
    (True, False)
    """
    if isinstance(value, dict):
        return word in value or any(mentions(one, word) for one in value.values())
    if isinstance(value, list):
        return any(mentions(one, word) for one in value)
    return value == word


def row_name(row: object, number: int) -> str:
    """How a row is named in a fault: by its own code or name where it has one.

    >>> row_name({"code": "M6"}, 4), row_name({}, 4)
    ("'M6'", '4')
    """
    if isinstance(row, dict):
        for key in ("code", "name", "key"):
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

    >>> shown("x" * 100)[-4:], shown(None), shown(True)
    ('x...', 'nothing', 'true')
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    text = ascii(value)
    return text if len(text) <= 60 else text[:57] + "..."


def near(text: str, known: Iterable[str], alike: float = 0.5) -> str:
    """What may have been meant; a guess is asked back, never taken. alike: 1 for the same word."""
    close = near_words(text, known, alike)
    return f"; did you mean {' or '.join(map(repr, close))}?" if close else ""


def near_words(text: str, known: Iterable[str], alike: float = 0.5) -> list[str]:
    """Up to three that read alike, or that share the beginning of a word.

    >>> near_words("earthing", ["the covers", "the earth conductor"])
    ['the earth conductor']
    """
    every = list(known)
    stems = {word[:5] for word in text.split() if len(word) >= 4}
    shared = [words for words in every if stems & {word[:5] for word in words.split()}]
    return (shared or get_close_matches(text, every, n=3, cutoff=alike))[:3] if text else []
