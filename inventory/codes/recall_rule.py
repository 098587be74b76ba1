"""What a recall letter names, in our own plain notation: a row is AND, rows are OR.

A row holds conditions with a semicolon between, each a word and its values with commas between:
prefix, range A to B, serials, lot, model, made D to D. A row without such a word lists serials.
Nothing is guessed: what could be read in two ways is an error that tells the row.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from inventory.codes.errors import CodeError
from inventory.codes.serials import key

MOST_VALUES = 20_000  # serials of one rule
SHORTEST = 4  # characters of a listed serial: a blank inside one would leave shorter pieces
WORDS = {
    "prefix": "prefix|prefixes|begins with|beginning with",
    "range": "range from|range|ranges|from|between",
    "serials": "serial numbers|serial number|serials|serial|list",
    "lot": "lots|lot|batches|batch",
    "model": "models|model|items|item",
    "made": "made between|made",
}
_WORD = re.compile(
    "|".join(f"(?P<{name}>(?:{words})(?=[ :=]|$))" for name, words in WORDS.items()),
    re.IGNORECASE,
)
_ANY = "|".join(WORDS.values())
_AND = re.compile(f" +and +(?=(?:{_ANY})[ :=])", re.IGNORECASE)
_DASH = "\u2013|\u2014"  # as word processors put between two values
_BETWEEN = re.compile(rf"\s+(?:to|and|-|{_DASH})\s+|\s*(?:\.\.|{_DASH})\s*", re.IGNORECASE)
_ROUNDED = re.compile(r"\d(?:[.,]\d+)?E\+?\d+", re.IGNORECASE)  # a serial a spreadsheet rounded


class RuleError(ValueError):
    """A text is no rule; `problems` has one sentence for each row that cannot be read."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__(" ".join(problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Span:
    """Serials alike in all but one run of digits, from `first` to `last`, both included."""

    left: str  # what stands before the run
    first: int
    last: int
    width: int  # digits of the run, leading zeros counted
    right: str  # what stands after it

    @property
    def ends(self) -> tuple[str, str]:
        """The first and the last serial."""
        return (self._serial(self.first), self._serial(self.last))

    def _serial(self, number: int) -> str:
        return f"{self.left}{number:0{self.width}d}{self.right}"

    def __str__(self) -> str:
        return " to ".join(self.ends)


@dataclass(frozen=True, slots=True)
class Row:
    """Conditions that must all hold; of the values of one condition any is enough."""

    number: int  # of the text's rows, 1 = first
    prefixes: tuple[str, ...] = ()  # normal forms, as everything about serials and batches
    spans: tuple[Span, ...] = ()
    serials: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    models: tuple[str, ...] = ()  # as typed
    made: tuple[date, date] | None = None  # first and last day, both included


@dataclass(frozen=True, slots=True)
class Rule:
    """A recall's rule as read."""

    rows: tuple[Row, ...] = field(default=())


def parse(text: str) -> Rule:
    """Read a pasted text. Raises RuleError with every row that cannot be read.

    >>> rule = parse("model M5; prefix AB12, AB13; made 2026-01 to 2026-02")
    >>> rule.rows[0].prefixes, str(rule.rows[0].made[1])
    (('AB12', 'AB13'), '2026-02-28')
    >>> str(parse("range AB120000-AB129999").rows[0].spans[0])
    'AB120000 to AB129999'
    """
    rows: list[Row] = []
    problems: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            rows.append(_row(number, line.strip()))
        except (_Wrong, CodeError) as error:
            problems.append(f"Row {number}: {error}.")
    if not rows and not problems:
        problems.append("Row 1: expected what the letter names, got nothing.")
    if sum(len(row.serials) for row in rows) > MOST_VALUES:
        problems.append(f"Expected at most {MOST_VALUES} serials, got more.")
    if problems:
        raise RuleError(problems)
    return Rule(tuple(rows))


class _Wrong(ValueError):
    """One condition cannot be read."""


def _row(number: int, line: str) -> Row:
    row = Row(number)
    for word, values in _conditions(line):
        name = {"prefix": "prefixes", "range": "spans", "lot": "lots", "model": "models"}.get(
            word, word
        )
        if getattr(row, name):
            raise _Wrong(f"expected {word!r} once in a row, got it twice")
        read = _READERS[word](values)
        if not read:
            raise _Wrong(f"expected something after {word!r}, got nothing")
        fields: dict[str, Any] = {name: read}
        row = replace(row, **fields)
    return row


def _conditions(line: str) -> Iterator[tuple[str, str]]:
    """Give (word, its values); pieces of a list with semicolons in it are put together."""
    word, values = "", ""
    for piece in _AND.sub(";", line.replace("\t", " ")).split(";"):
        said = piece.strip()
        found = _WORD.match(said)
        if found is not None:
            if word:
                yield word, values
            word, values = str(found.lastgroup), said[found.end() :].lstrip(" :=")
            continue
        if word not in ("", "serials") and said:
            some = ", ".join(WORDS)
            raise _Wrong(f"expected one of {some} after the semicolon, got {said[:40]!r}")
        word, values = word or "serials", f"{values} {said}"
    yield word, values


def _by_commas(values: str) -> list[str]:
    return [value.strip(" \"'") for value in values.split(",") if value.strip(" \"'")]


def _prefixes(values: str) -> tuple[str, ...]:
    return tuple(key(value) for value in re.split(r"[\s,|]+", values) if value)


def _serials(values: str) -> tuple[str, ...]:
    quoted = re.findall(r'"([^"]+)"', values)
    plain = re.split(r"[\s,|]+", re.sub(r'"[^"]*"', " ", values))
    found = [value for value in (*quoted, *plain) if value]
    return tuple(dict.fromkeys(_serial(value) for value in found))


def _serial(value: str) -> str:
    if _ROUNDED.fullmatch(value):
        raise _Wrong(f"expected a serial, got {value!r}, a number that a spreadsheet has rounded")
    if _dashed(value):
        raise _Wrong(f"expected a serial or 'range A to B', got {value[:60]!r}, which may be both")
    if len(value) < SHORTEST or not re.search("[0-9]", value):
        raise _Wrong(
            f"expected serials of {SHORTEST} or more characters with a digit, got {value[:40]!r};"
            " one with a blank in it stands in double quotes"
        )
    return key(value)


def _dashed(value: str) -> tuple[str, str] | None:
    """Two texts of one shape with a single dash between, as AB1200-AB1299."""
    half = len(value) // 2
    first, last = value[:half], value[half + 1 :]
    if len(value) % 2 and len(value) > 2 * SHORTEST and value[half] == "-":
        return (first, last) if _shape(first) == _shape(last) else None
    return None


def _shape(text: str) -> str:
    return re.sub("[A-Za-z]", "A", re.sub("[0-9]", "0", text))


def _spans(values: str) -> tuple[Span, ...]:
    return tuple(_span(value) for value in _by_commas(values))


def _span(value: str) -> Span:
    ends = _dashed(value) or tuple(_BETWEEN.split(value))
    if len(ends) != 2 or not all(ends):
        raise _Wrong(f"expected a range as 'AB1200 to AB1299', got {value[:60]!r}")
    first, last = (key(end) for end in ends)
    if len(first) != len(last):
        raise _Wrong(f"expected two serials of one length, got {first} and {last}")
    differ = [at for at in range(len(first)) if first[at] != last[at]]
    start = differ[0] if differ else len(first.rstrip("0123456789"))
    # The run of digits that holds the first difference; all outside it must be equal.
    start -= len(first[:start]) - len(first[:start].rstrip("0123456789"))
    run = re.match("[0-9]+", first[start:])
    end = start + (run.end() if run else 0)
    middle = last[start:end]
    if run is None or not re.fullmatch("[0-9]+", middle) or first[end:] != last[end:]:
        raise _Wrong(f"expected serials alike in all but one number, got {first} and {last}")
    if int(run.group()) > int(middle):
        raise _Wrong(f"expected the lower serial first, got {first} and {last}")
    return Span(first[:start], int(run.group()), int(middle), end - start, first[end:])


def _lots(values: str) -> tuple[str, ...]:
    return tuple(key(value) for value in _by_commas(values))


def _models(values: str) -> tuple[str, ...]:
    return tuple(_by_commas(values))


def _made(values: str) -> tuple[date, date]:
    words = values.strip()
    lower = words.lower()
    if lower.startswith("until "):
        return date.min, _days(words[6:])[1]
    if lower.startswith("from ") and not _BETWEEN.search(words):
        return _days(words[5:])[0], date.max
    ends = _BETWEEN.split(words[5:] if lower.startswith("from ") else words)
    if len(ends) > 2:
        raise _Wrong(f"expected one or two days, got {words[:60]!r}")
    first, last = _days(ends[0])[0], _days(ends[-1])[1]
    if first > last:
        raise _Wrong(f"expected the earlier day first, got {words[:60]!r}")
    return first, last


def _days(text: str) -> tuple[date, date]:
    """Return the first and last day of 2026-01-05, 2026-01 or 2026-W05 (ISO 8601)."""
    said = text.strip()
    try:
        if re.fullmatch("[0-9]{4}-W[0-9]{2}", said):
            monday = date.fromisoformat(f"{said}-1")
            return monday, monday + timedelta(days=6)
        if re.fullmatch("[0-9]{4}-[0-9]{2}", said):
            first = date.fromisoformat(f"{said}-01")
            return first, (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", said):
            return date.fromisoformat(said), date.fromisoformat(said)
    except ValueError:
        pass
    raise _Wrong(f"expected a day as 2026-01-05 (year, month, day), got {said[:30]!r}")


_READERS = {
    "prefix": _prefixes,
    "range": _spans,
    "serials": _serials,
    "lot": _lots,
    "model": _models,
    "made": _made,
}
