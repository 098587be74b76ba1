"""What a figure may be asked with: kinds of input, each read strictly, told in words when wrong."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

LARGEST = 1e9
"""No input of the trade is larger."""


class Wrong(ValueError):
    """An input is not what was expected; says "expected X, got Y"."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of input."""

    words: str
    """What is expected, as a person reads it."""
    take: Callable[[object], Any]
    """The value as it will be used. Raises ValueError without words, or Wrong with them."""

    def read(self, key: str, value: object) -> Any:
        """Return the value of a key. Raises Wrong.

        >>> number(0).read("a", "x")
        Traceback (most recent call last):
        kitting.plan.inputs.Wrong: a: expected a number of 0 or more, got 'x'
        """
        try:
            return self.take(value)
        except Wrong as error:
            raise Wrong(f"{key}: {error}") from error
        except (ValueError, TypeError):
            raise Wrong(f"{key}: expected {self.words}, got {shown(value)}") from None


def shown(value: object) -> str:
    """A value as it is told back, never longer than a line.

    >>> shown("x" * 100)[-4:]
    'x...'
    """
    told = ascii(value)
    return told if len(told) <= 60 else f"{told[:57]}..."


def number(least: float = 0, most: float = LARGEST, *, above: bool = False) -> Kind:
    """Take a finite number from `least` (or only above it) to `most`, both ends included."""
    words = f"a number above {least:g}" if above else f"a number of {least:g} or more"
    if most < LARGEST:
        words = f"a number {'above' if above else 'from'} {least:g} {'up ' if above else ''}to"
        words += f" {most:g}"

    def take(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise TypeError
        if not least <= value <= most or (above and value == least):
            raise ValueError
        return value

    return Kind(words, take)


def whole(least: int = 0, most: int = int(LARGEST)) -> Kind:
    """Take a whole number of `least` to `most`."""
    words = f"a whole number of {least} or more"
    if most < LARGEST:
        words = f"a whole number from {least} to {most}"
    bounds = number(least, most)

    def take(value: object) -> int:
        found = bounds.take(value)
        if found != int(found):
            raise ValueError
        return int(found)

    return Kind(words, take)


def one_of(listed: Collection[Any]) -> Kind:
    """Take one of these; true is not 1."""
    told = ", ".join(str(one) for one in listed)

    def take(value: object) -> Any:
        found = [one for one in listed if one == value and type(one) is not bool]
        if not found or isinstance(value, bool):
            raise ValueError
        return found[0]

    return Kind(f"one of {told}", take)


def _plain(kind: type, value: object) -> Any:
    if not isinstance(value, kind):
        raise TypeError
    return value


text = Kind("a text", lambda value: _plain(str, value))
flag = Kind("true or false", lambda value: _plain(bool, value))


def or_null(kind: Kind) -> Kind:
    """Take what the kind takes, or null."""
    take = kind.take
    return Kind(f"{kind.words}, or null", lambda value: None if value is None else take(value))


def many(kind: Kind, least: int = 1, most: int = 200) -> Kind:
    """Take a list of so many of a kind, as a tuple."""

    def take(value: object) -> tuple[Any, ...]:
        if not isinstance(value, list | tuple) or not least <= len(value) <= most:
            raise TypeError
        return tuple(kind.read(f"[{at}]", one) for at, one in enumerate(value))

    return Kind(f"a list of {least} to {most}: {kind.words}", take)


def pair(first: Kind, second: Kind) -> Kind:
    """Take a list of two."""

    def take(value: object) -> tuple[Any, Any]:
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise TypeError
        return first.read("[0]", value[0]), second.read("[1]", value[1])

    return Kind(f"a list of two: {first.words}; {second.words}", take)


def fields(kinds: Mapping[str, Kind]) -> Kind:
    """Take an object with exactly these keys, as a tuple of their values in this order."""

    def take(value: object) -> tuple[Any, ...]:
        if not isinstance(value, dict):
            raise TypeError
        return read_all(kinds, {}, value)

    return Kind(f"an object with {', '.join(kinds)}", take)


def read_all(
    kinds: Mapping[str, Kind], further: Mapping[str, Kind], given: Mapping[str, object]
) -> tuple[Any, ...]:
    """The values of all keys in their order, then of the further ones (None where not given).

    Raises Wrong for a missing key, a strange one, a wrong kind.
    """
    missing = [key for key in kinds if key not in given]
    strange = [key for key in given if key not in kinds and key not in further]
    if missing or strange:
        told = ", ".join(given) or "nothing"
        raise Wrong(f"expected {', '.join(kinds)}, got {shown(told)[1:-1]}")
    values = [kind.read(key, given[key]) for key, kind in kinds.items()]
    rest = [kind.read(key, given[key]) if key in given else None for key, kind in further.items()]
    return (*values, *rest)
