"""Steps by module count, length or pitch: the row that is written, never one between or beyond.

Source: the family's own sheet; part quantities are not linear in the number of modules (common
practice, no
published source), so an input outside the table is an error.
"""

import itertools
from dataclasses import dataclass
from typing import Final

from kitting.plan.given import Book, CannotCount, Given, Task, Threshold, measured
from kitting.plan.linear import Linear
from kitting.plan.reading import Table, is_whole, shown

Key = tuple[int | str, ...]
NOUNS: Final = {"modules": "module", "total_modules": "module", "stacks": "stack"}


@dataclass(frozen=True, slots=True)
class Steps:
    """Rows by one or two names."""

    by: tuple[str, ...]
    upto: frozenset[str]
    """Names where a row holds up to its figure."""
    least: int
    """Below this the first row of an `upto` name does not hold."""
    rows: tuple[tuple[Key, tuple[tuple[str, int], ...]], ...]

    def items(self) -> tuple[str, ...]:
        """Every item of every row."""
        return tuple(dict.fromkeys(item for _, gives in self.rows for item, _ in gives))

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The row's figures times the need's count."""
        inputs = tuple(task.scope.read(name) for name in self.by)
        by = list(zip(self.by, inputs, strict=True))
        best = self._row(inputs)
        if best is None:
            named = ", ".join(f"{name} {value}" for name, value in by)
            raise CannotCount(f"the table has no row for {named}")
        said = " and ".join(_said(name, value) for name, value in by)
        number = task.demand.number
        return [
            Given(item, number * each, f"the parts list has {each} for {said}" + _by(number, each))
            for item, each in best
        ]

    def _row(self, inputs: tuple[int | str | None, ...]) -> tuple[tuple[str, int], ...] | None:
        best: tuple[Key, tuple[tuple[str, int], ...]] | None = None
        for key, gives in self.rows:
            held = all(self._holds(*three) for three in zip(self.by, key, inputs, strict=True))
            if held and (best is None or self._tighter(key, best[0])):
                best = key, gives
        return None if best is None else best[1]

    def _holds(self, name: str, figure: int | str, value: int | str | None) -> bool:
        if name not in self.upto:
            return figure == value
        return isinstance(value, int) and isinstance(figure, int) and self.least <= value <= figure

    def _tighter(self, key: Key, than: Key) -> bool:
        limits = [i for i, name in enumerate(self.by) if name in self.upto]
        return [int(key[i]) for i in limits] < [int(than[i]) for i in limits]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Every figure of a row, and the least."""
        found = []
        for index, name in enumerate(self.by):
            figure = Linear(0, ((name, 1),))
            numbers = {key[index] for key, _ in self.rows} | {self.least}
            found += [Threshold(figure, number) for number in numbers if isinstance(number, int)]
        return found


def _said(name: str, value: int | str | None) -> str:
    """What a row is chosen by, as people say it.

    >>> _said("modules", 4), _said("stacks", 1), _said("stud_pitch", "400"), _said("height", 1500)
    ('4 modules', '1 stack', 'stud pitch 400', 'height 1500 mm')
    """
    if name in NOUNS:
        return f"{value} {NOUNS[name]}" + ("" if value == 1 else "s")
    return f"{name.replace('_', ' ')} {measured(name, value) if isinstance(value, int) else value}"


def _by(number: int, each: int) -> str:
    return f"; {number} x {each} = {number * each}" if number > 1 else ""


def parse(table: Table, book: Book) -> Steps:
    """by = one or two names, rows = [{ modules = 2, gives = { bracket = 2 } }], optional upto,
    from."""
    by = table.texts("by")
    upto = frozenset(table.texts("upto", ()))
    for name in by:
        if name not in book.names:
            table.unknown("by", name, book.names)
    if len(by) > 2 or not upto <= set(by):
        table.fault("by", "expected one or two names, and upto among them")
    rows = []
    for row in table.rows("rows"):
        key = tuple(_figure(row, name) for name in by)
        rows.append((key, tuple(row.counts("gives").items())))
        row.finish()
    keys = [key for key, _ in rows]
    for key in sorted(set(keys), key=str):
        if keys.count(key) > 1:
            table.fault("rows", f"expected one row for {key}, got {keys.count(key)}")
    if set(by) == upto:
        _grid(table, keys)
    if not rows:
        table.fault("rows", "expected at least one row, got none")
    return Steps(by, upto, table.whole("from", default=0), tuple(rows))


def _grid(table: Table, keys: list[Key]) -> None:
    """Where two rows hold and neither is tighter in both figures, the tighter of both is wanted."""
    whole = [tuple(int(figure) for figure in key) for key in keys if not _texts(key)]
    for one, other in itertools.combinations(whole, 2):
        tighter = tuple(map(min, one, other))
        if tighter not in whole:
            table.fault("rows", f"expected a row for {tighter}: {one} and {other} both hold there")


def _texts(key: Key) -> bool:
    return any(isinstance(figure, str) for figure in key)


def _figure(row: Table, name: str) -> int | str:
    value = row.take(name, "a number or a text")
    if isinstance(value, str) or (isinstance(value, int) and is_whole(value)):
        return value
    if value is not None:
        row.fault(name, f"expected a number or a text, got {shown(value)}")
    return 0
