"""One published figure, asked by name: the functions that the kit uses, with their source.

Found by walking the package `figures`: one file a topic, each with a tuple FIGURES, no register.
"""

import importlib
import json
import pkgutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cache
from typing import Any, NamedTuple

from kitting.plan import figures, lookup
from kitting.plan.inputs import Kind, Wrong, one_of, read_all, shown, text


class Answer(NamedTuple):
    """What a figure comes to."""

    value: Any
    unit: str
    source: str
    """Where the formula or the cell was published."""
    edition: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One way to ask a figure. Several may bear one name: the keys given tell which is meant."""

    name: str
    """Two parts ("cond.vdrop"); a third where one and the same question has several answers."""
    unit: str
    source: str
    edition: str
    work: Callable[..., Any]
    """Takes the values of `keys` in their order, then of `further` (None where not given). Gives
    the value, or an Answer where unit and source hang on the input."""
    keys: Mapping[str, Kind]
    further: Mapping[str, Kind] = field(default_factory=dict)
    """Keys that may be left out."""
    notes: tuple[str, ...] = ()
    """Keys with a remark that changes nothing."""

    def asked_by(self, given: Mapping[str, object]) -> bool:
        """Whether these are its keys."""
        may = {*self.keys, *self.further, *self.notes}
        return set(self.keys) <= set(given) <= may

    def answer(self, given: Mapping[str, object]) -> Answer:
        """Work it out. Raises Wrong."""
        further = {**self.further, **dict.fromkeys(self.notes, text)}
        values = read_all(self.keys, further, given)
        found = self.work(*values[: len(self.keys) + len(self.further)])
        if isinstance(found, Answer):
            return found
        return Answer(found, self.unit, self.source, self.edition)


def ask(name: str, inputs: object) -> Answer:
    """Answer one figure.

    Raises Wrong for an unknown name, a missing or strange key, a wrong kind of value.

    >>> ask("cond.kt", {"temp_c": 30}).unit
    'factor R20=R_t*kt'
    """
    alike = named(name)
    if not isinstance(inputs, dict):
        raise Wrong(f"inputs: expected an object, got {shown(inputs)}")
    for one in alike:
        if one.asked_by(inputs):
            return one.answer(inputs)
    # Nothing has just these keys: the one that shares most of them tells what it wants.
    nearest = max(alike, key=lambda one: len(set(one.keys) & set(inputs)))
    return nearest.answer(inputs)


def also(name: str, inputs: Mapping[str, object]) -> dict[str, Answer]:
    """Full name -> what else the same name and inputs may mean: a bus has several figures.

    >>> [(other, answer.value) for other, answer in also("bus.can", {"kbit_s": 500}).items()]
    [('bus.can.drop', {'one_m': 5, 'all_m': 25})]
    """
    asked = [one for one in named(name) if one.asked_by(inputs)]
    found: dict[str, Answer] = {}
    for other in (one for one in asked if one.name != asked[0].name):
        with suppress(Wrong):  # it knows no such input: it is not what was meant
            found[other.name] = other.answer(inputs)
    return found


class Caution(NamedTuple):
    """What goes with every figure of a topic."""

    words: str
    decides: str
    """Who has the last word; never this program."""


def caution(name: str) -> Caution:
    """What goes with a figure.

    >>> caution("cond.vdrop").decides[:23]
    'a licensed electrician '
    """
    rows = {row["topic"]: row for row in lookup.table("figure_cautions").rows}
    row = rows[name.split(".", maxsplit=1)[0]]
    return Caution(row["words"], row["decides"])


def named(name: str) -> list[Figure]:
    """Every way to ask this figure. Raises Wrong."""
    known = registry()
    found = [one for known_as in known for one in known[known_as] if _means(name, known_as)]
    if not found:
        listed = ", ".join(sorted({".".join(each.split(".")[:2]) for each in known}))
        raise Wrong(f"figure: expected one of {listed}, got {shown(name)}")
    return found


def _means(name: str, known_as: str) -> bool:
    return isinstance(name, str) and (known_as == name or known_as.startswith(f"{name}."))


@cache
def registry() -> dict[str, tuple[Figure, ...]]:
    """Name -> the ways to ask it, of every topic."""
    found: dict[str, tuple[Figure, ...]] = {}
    for module in pkgutil.iter_modules(figures.__path__):
        for one in importlib.import_module(f"{figures.__name__}.{module.name}").FIGURES:
            found[one.name] = (*found.get(one.name, ()), one)
    return found


def listed(table: str) -> list[Figure]:
    """The figures of a table of single facts: columns figure, key, of, value (JSON), unit, source,
    edition."""
    cells: dict[tuple[str, str], dict[str, Answer]] = {}
    for row in lookup.table(table).rows:
        answer = Answer(json.loads(row["value"]), row["unit"], row["source"], row["edition"])
        cells.setdefault((row["figure"], row["key"]), {})[row["of"]] = answer
    each = "as the row says"
    return [
        Figure(name, each, each, each, known.__getitem__, {key: one_of(list(known))})
        for (name, key), known in cells.items()
    ]
