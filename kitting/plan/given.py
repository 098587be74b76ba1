"""What passes between a need, the rule that meets it and the way it counts."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple, Protocol

from kitting.plan.conditions import When
from kitting.plan.items import FamilyItem, Raise
from kitting.plan.linear import Linear
from kitting.plan.site import Measures, Scope

NOTHING: Final[Measures] = {}
THROUGH: Final = "diameter "
"""Before the name of each run that shares a hole: tenths of mm, carried by the shared entry."""
SAID: Final = {"mm": (1000, " m"), "ul": (1000, " ml"), "mm2": (1_000_000, " m2")}
"""Base unit of an item -> how many make one of the unit people use, and that unit."""
UNITS: Final = {
    "diameter": (10, " mm"),
    "core": (100, " mm2"),
    **dict.fromkeys(("length", "depth", "height"), (1, " mm")),
}
"""Measure -> how many of its base unit make one of the unit people use, and that unit."""


class Demand(NamedTuple):
    """One need at one place, counted."""

    need: str
    of: str
    root: tuple[str, str, str]
    """(need, of, place) of the need of the stack it grew from; its own where it is one itself."""
    number: int
    """In the need's own measure, at least 1."""
    measures: Measures
    """What it carries: modules and stack number, length in mm, diameter in tenths of mm, hole."""
    words: str
    """How the count came about, as "4 modules + 1 = 5 joints"."""
    step: str
    """The step of the line that raised it; empty for a need of the stack itself."""
    by: str = ""
    """Code of the item that raised it; empty likewise."""


class Given(NamedTuple):
    """One item a rule gives for one need."""

    item: str
    quantity: int
    """In the item's base unit."""
    words: str
    """The arithmetic, as "5 x 2 = 10"."""
    pieces: tuple[int, ...] = ()
    """For a length: mm of each single piece, in one piece each."""
    raises: tuple[Raise, ...] = ()
    """Needs beside those of the item itself, per piece of this giving."""
    step: str = ""
    """Only where the way itself decides the step."""
    carries: Measures = NOTHING
    """What the needs that this giving raises carry beside what their parent carried."""


class Threshold(NamedTuple):
    """Where an outcome may change: the figure at this value, and just beside it."""

    figure: Linear
    value: int
    when: When = ()
    """Under these answers alone."""


class Carried(NamedTuple):
    """A figure that the needs raised by a giving may carry."""

    figure: Linear
    when: When
    """Under these answers alone."""
    raises: tuple[Raise, ...]
    """The needs that carry it, and hand it on to theirs."""


class CannotCount(Exception):
    """A way has no answer here: outside its table, nothing fits. The message says so in words."""


@dataclass(frozen=True, slots=True)
class Book:
    """What every way may look up of the family."""

    items: Mapping[str, FamilyItem]
    names: Collection[str]
    """Names a figure or condition may use."""
    seats: Collection[str]
    """Every `of` under which some rule meets "fit in hole", as "M20 in M32"."""


class Task(NamedTuple):
    """One need to be counted."""

    demand: Demand
    scope: Scope
    book: Book
    lines: Callable[[str], list[tuple[str, int]]]
    """Item -> (step, quantity) of its lines so far."""
    beside: Callable[[str], int] = lambda item: 0
    """Item -> pieces of it given so far for the same run (or part) at the same place. Raises
    UnknownInput where something there still hangs on an answer."""


class Counting(Protocol):
    """A way of counting with its figures.

    It may also have `tells(task) -> list[str]`: sentences for the step, beside what it gives;
    `couples`: what it raises itself; `carried(book) -> dict[str, list[Carried]]`: by name.
    """

    def items(self) -> tuple[str, ...]:
        """Every item it may give."""

    def counted(self) -> tuple[str, ...]:
        """Every item whose lines it counts."""

    def count(self, task: Task) -> list[Given]:
        """What one need takes. Raises CannotCount, UnknownInput."""

    def thresholds(self, book: Book) -> list[Threshold]:
        """Figures at which its outcome may change from met to unmet or from item to item."""


def measured(name: str, value: int) -> str:
    """A measure in the unit people use for it.

    >>> measured("diameter", 125), measured("length", 900), measured("core", 600), measured("x", 7)
    ('12.5 mm', '900 mm', '6 mm2', '7')
    """
    parts, unit = UNITS.get(name, (1, ""))
    return f"{value / parts:g}{unit}" if parts > 1 else f"{value}{unit}"


def quantity(number: int, unit: str) -> str:
    """A quantity of base units as people say it.

    >>> quantity(5200, "mm"), quantity(190_475, "ul"), quantity(7, "piece")
    ('5.2 m', '190.475 ml', '7')
    """
    parts, name = SAID.get(unit, (1, ""))
    return f"{number / parts:.10g}{name}"


def times(count: int, each: int, name: str) -> str:
    """A multiplication in words, or nothing where there is nothing to multiply.

    >>> times(3, 4, "screw"), times(5, 1, "bolt")
    ('3 x 4 screw = 12', '')
    """
    return "" if each == 1 else f"{count} x {each} {name} = {count * each}"


def joined(*words: str) -> str:
    """Steps of an arithmetic, those that say something.

    >>> joined("3 modules", "", "3 x 4 screw = 12")
    '3 modules; 3 x 4 screw = 12'
    """
    return "; ".join(word for word in words if word)
