"""What a family says of its shape: parts of needs, buses, holes, cable runs and outlines."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from kitting.plan import conditions, linear
from kitting.plan.conditions import When
from kitting.plan.linear import Linear
from kitting.plan.needs import ENTRY_NEEDS, MEASURES, NEEDS, PATH_NEEDS, RUN_NEEDS
from kitting.plan.reading import Table

SHAPES: Final = ("module", "head", "base", "cap")


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a need that a family splits."""

    need: str
    of: str
    per: str
    """module, joint, link, stack, gap or system."""


@dataclass(frozen=True, slots=True)
class Bus:
    """A data bus; it has two ends."""

    name: str
    per: str
    """stack or system."""
    when: When


@dataclass(frozen=True, slots=True)
class Hole:
    """A group of like holes for cables."""

    name: str
    thread: str
    """As "M25"."""
    count: Linear
    """Holes there are."""


@dataclass(frozen=True, slots=True)
class Run:
    """One cable or lead on its way."""

    name: str
    need: str
    """One of RUN_NEEDS."""
    per: str
    """system, stack or gap: how many of it there are."""
    length: Linear
    """mm"""
    diameter: str | int
    """Tenths of mm, or the axis that asks for it; 0 = not said."""
    hole: str
    """Hole group; empty where it enters by no hole."""
    entries: int
    """Holes one run takes."""
    supported: bool
    when: When


@dataclass(frozen=True, slots=True)
class Entry:
    """Runs that enter together through one hole."""

    name: str
    hole: str
    """Hole group."""
    runs: tuple[str, ...]
    """Names of the runs; they have no hole of their own."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One outline."""

    kind: str
    """module, head, base or cap."""
    width: int
    """mm, across the front."""
    height: int
    """mm"""
    depth: int
    """mm, from the wall into the room."""
    item: str
    when: When


def part(table: Table) -> Part:
    """One [[part]]."""
    need = table.text("need", among=NEEDS)
    found = Part(need, table.text("of"), table.text("per", among=MEASURES))
    by_table = (*RUN_NEEDS, *ENTRY_NEEDS, *PATH_NEEDS, "end the bus", "blank entry")
    if need in by_table:
        table.fault("need", f"expected a need that is not raised by a run, bus or hole, got {need}")
    table.finish()
    return found


def bus(table: Table, names: Collection[str]) -> Bus:
    """One [[bus]]."""
    found = Bus(
        table.text("name"),
        table.text("per", among=("stack", "system")),
        conditions.parse(table, names),
    )
    table.finish()
    return found


def hole(table: Table, names: Collection[str]) -> Hole:
    """One [[hole]]."""
    found = Hole(table.text("name"), table.text("thread"), linear.parse(table, "count", names))
    table.finish()
    return found


def run(table: Table, names: Collection[str], holes: Collection[str], axes: Collection[str]) -> Run:
    """One [[run]]."""
    has_hole = table.has("hole")
    found = Run(
        name=table.text("name"),
        need=table.text("need", among=RUN_NEEDS),
        per=table.text("per", among=("system", "stack", "gap")),
        length=linear.parse(table, "length", names),
        diameter=_diameter(table, axes),
        hole=table.text("hole", among=holes) if has_hole else "",
        entries=table.whole("entries", 1, 100, 1) if has_hole else 0,
        supported=table.flag("supported", default=True),
        when=conditions.parse(table, names),
    )
    table.finish()
    return found


def entry(table: Table, holes: Collection[str], runs: Iterable[Run]) -> Entry:
    """One [[entry]]; its runs are known, have a diameter, no hole, and the same `per`."""
    known = {run.name: run for run in runs}
    found = Entry(table.text("name"), table.text("hole", among=holes), table.texts("runs"))
    for name in found.runs:
        if name not in known:
            table.fault("runs", f"expected a known run, got {name!r}")
        elif known[name].hole:
            table.fault("runs", f"expected a run without a hole of its own, got {name!r}")
        elif not known[name].diameter:
            table.fault("runs", f"expected a run with a diameter, got {name!r}")
    counted = {known[name].per for name in found.runs if name in known}
    if len(counted) > 1:
        listed = " and ".join(sorted(counted))
        table.fault("runs", f"expected runs with one `per`, got {listed}")
    table.finish()
    return found


def entered_once(entries: Iterable[Entry], top: Table) -> None:
    """A run enters once; else it is a fault of the file."""
    runs = [run for entry in entries for run in entry.runs]
    for run in sorted({run for run in runs if runs.count(run) > 1}):
        top.fault("entry", f"expected each run once, got {run!r} {runs.count(run)} times")


def _diameter(table: Table, axes: Collection[str]) -> str | int:
    if not isinstance(table.data.get("diameter"), str):
        return table.whole("diameter", default=0)
    return table.text("diameter", among=axes)


def shape(table: Table, names: Collection[str]) -> Shape:
    """One [[shape]]."""
    found = Shape(
        kind=table.text("kind", among=SHAPES),
        width=table.whole("width", 1),
        height=table.whole("height", 1),
        depth=table.whole("depth", 1),
        item=table.text("item"),
        when=conditions.parse(table, names),
    )
    table.finish()
    return found
