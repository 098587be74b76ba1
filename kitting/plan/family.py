"""A family: a stack system as we describe it, read from one TOML text."""

import datetime as dt
import hashlib
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Final, TypeGuard

from kitting.plan import axes, charge, crosswise, items, limits, made_within, rules, wiring
from kitting.plan.axes import Axis
from kitting.plan.charge import Charge
from kitting.plan.errors import FamilyError, Fault
from kitting.plan.given import Book
from kitting.plan.items import FamilyItem
from kitting.plan.limits import Limit, Mixing
from kitting.plan.made_within import MadeWithin
from kitting.plan.reading import Table, shown
from kitting.plan.rules import Rule
from kitting.plan.site import COMPUTED, HEIGHT
from kitting.plan.steps import ORDER, Step
from kitting.plan.wiring import Bus, Entry, Hole, Part, Run, Shape

CARRIED: Final = (
    *("stack", "length", "diameter", "cables", "hole"),
    *("depth", "core", "strands", "trade"),
)
WANTED: Final = ("family", "stacks", "topology")
"""Tables that every file has."""
NAMED: Final = {
    **dict.fromkeys(("bus", "hole", "run", "entry", "rule", "limit"), "name"),
    "item": "code",
    "step": "key",
}
"""Tables that are told apart, and by what."""
TABLES: Final = (
    *("family", "stacks", "topology", "shape", "axis", "part", "bus"),
    *("hole", "run", "entry", "item", "rule", "step", "limit", "mixing", "made_within", "charge"),
)


@dataclass(frozen=True, slots=True)
class Bounds:
    """How many stacks and modules may be asked for at all."""

    stacks: tuple[int, int]
    modules: tuple[int, int]
    """Of each stack."""


@dataclass(frozen=True, slots=True)
class Joints:
    """What a stack's joints and links are besides those between modules."""

    with_base: bool
    with_head: bool
    link_with_head: bool

    def joints(self, modules: int) -> int:
        """Joints of a stack."""
        return modules - 1 + self.with_base + self.with_head

    def links(self, modules: int) -> int:
        """Leads of one kind from unit to unit in a stack."""
        return modules - 1 + self.link_with_head


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """One edition of a parts list, with nothing left to look up."""

    name: str
    title: str
    edition: dt.date
    status: str
    """trial or released"""
    arrangement: str
    """tower or row"""
    revisions: tuple[str, ...]
    """Oldest first."""
    expands_from: str
    """First revision that accepts an expansion; empty = every one."""
    bounds: Bounds
    joints: Joints
    axes: Mapping[str, Axis]
    shapes: tuple[Shape, ...]
    parts: tuple[Part, ...]
    buses: tuple[Bus, ...]
    holes: tuple[Hole, ...]
    runs: tuple[Run, ...]
    entries: tuple[Entry, ...]
    items: Mapping[str, FamilyItem]
    rules: tuple[Rule, ...]
    """In the order in which they can be counted."""
    limits: tuple[Limit, ...]
    mixings: tuple[Mixing, ...]
    made_within: tuple[MadeWithin, ...]
    charge: Charge | None
    """None: nothing is asked about the charge of modules that are joined."""
    steps: tuple[Step, ...]
    """In the order of the trade."""
    book: Book
    hash: str
    """SHA-256 of the edition's text."""
    meeting: dict[tuple[str, str], tuple[tuple[int, Rule], ...]] = field(default_factory=dict)
    """(need, of) -> its rules with their order; filled as asked, follows from `rules` alone."""

    def rules_for(self, need: str, of: str) -> tuple[tuple[int, Rule], ...]:
        """Rules for a need and part, each with its place in the order of counting."""
        found = self.meeting.get((need, of))
        if found is None:
            found = tuple(r for r in enumerate(self.rules) if r[1].meets(need, of))
            self.meeting[need, of] = found
        return found


def parse(text: str, where: str) -> Family:
    """A family from TOML text; `where` names the file in faults. Raises FamilyError with every
    fault."""
    faults: list[Fault] = []
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise FamilyError([Fault(where, "", f"expected TOML, got {error}")]) from error
    family = _read(Table(data, where, faults), text)
    if not faults:
        faults += crosswise.faults(family, where)
    if faults:
        raise FamilyError(faults)
    return family


def _read(top: Table, text: str) -> Family:
    """Reads the tables in the order in which they rest on each other."""
    _known_tables(top)
    _told_apart(top)
    head, topology = _table(top, "family"), _table(top, "topology")
    found_axes = _axes(top)
    names = {*found_axes, *COMPUTED, HEIGHT, *CARRIED}
    numbers = {name for name, axis in found_axes.items() if axis.kind != "choice"}
    found_items = {item.code: item for item in map(items.parse, top.rows("item"))}
    steps = _steps(top)
    holes = tuple(wiring.hole(row, names) for row in top.rows("hole"))
    book = Book(found_items, frozenset(names), _seats(top))
    groups = [hole.name for hole in holes]
    runs = tuple(wiring.run(row, names, groups, found_axes) for row in top.rows("run"))
    entries = tuple(wiring.entry(row, groups, runs) for row in top.rows("entry"))
    wiring.entered_once(entries, top)
    family = Family(
        name=head.text("name"),
        title=head.text("title"),
        edition=_edition(head),
        status=head.text("status", among=("trial", "released")),
        arrangement=head.text("arrangement", among=("tower", "row")),
        revisions=head.texts("revisions", ()),
        expands_from=head.text("expands_from", ""),
        bounds=_bounds(_table(top, "stacks")),
        joints=Joints(
            topology.flag("joint_with_base"),
            topology.flag("joint_with_head"),
            topology.flag("link_with_head"),
        ),
        axes=found_axes,
        shapes=tuple(wiring.shape(row, names - {HEIGHT}) for row in top.rows("shape")),
        parts=tuple(map(wiring.part, top.rows("part"))),
        buses=tuple(wiring.bus(row, names) for row in top.rows("bus")),
        holes=holes,
        runs=runs,
        entries=entries,
        items=found_items,
        rules=_rules(top, book, {step.key for step in steps}),
        limits=tuple(limits.parse(row, names, numbers) for row in top.rows("limit")),
        mixings=tuple(map(limits.mixing, top.rows("mixing"))),
        made_within=tuple(map(made_within.parse, top.rows("made_within"))),
        charge=_charge(top),
        steps=steps,
        book=book,
        hash=hashlib.sha256(text.encode()).hexdigest(),
    )
    head.finish()
    topology.finish()
    return family


def _known_tables(top: Table) -> None:
    """A table misspelt is one fault: it is read on under the name that was meant."""
    for key in [key for key in top.data if key not in TABLES]:
        wanted = [name for name in WANTED if name not in top.data]
        meant = get_close_matches(key, wanted, 1)
        top.unknown(key, key, meant or TABLES)
        if meant:
            top.data = {**top.data, meant[0]: top.data[key]}


def _told_apart(top: Table) -> None:
    """Two tables of one kind and name: which of them is meant would be chance."""
    for table, key in NAMED.items():
        rows = top.data.get(table)
        names = [row.get(key) for row in rows if isinstance(row, dict)] if _listed(rows) else []
        for name in dict.fromkeys(n for n in names if isinstance(n, str) and names.count(n) > 1):
            where = f"{top.where}: {table} {name!r}"
            message = f"expected each {key} once, got {name!r} {names.count(name)} times"
            top.faults.append(Fault(where, key, message))


def _listed(rows: object) -> TypeGuard[list[object]]:
    return isinstance(rows, list)


def _table(top: Table, key: str) -> Table:
    inner = top.inner(key)
    if inner is not None:
        inner.where = f"{top.where}: {key}"
        return inner
    top.fault(key, "expected a table, got nothing")
    # What is missing inside a missing table is no second fault.
    return Table({}, f"{top.where}: {key}", [])


def _charge(top: Table) -> Charge | None:
    inner = top.inner("charge")
    if inner is not None:
        inner.where = f"{top.where}: charge"
    return charge.parse(inner)


def _edition(head: Table) -> dt.date:
    value = head.take("edition", "a date")
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    if value is not None:
        head.fault(
            "edition",
            f"expected a date, got {shown(str(value) if isinstance(value, dt.date) else value)}",
        )
    return dt.date.min


def _bounds(table: Table) -> Bounds:
    low = table.whole("min", 1, 50)
    modules_low = table.whole("modules_min", 1, 100)
    bounds = Bounds(
        (low, table.whole("max", low, 50)),
        (modules_low, table.whole("modules_max", modules_low, 100)),
    )
    table.finish()
    return bounds


def _axes(top: Table) -> dict[str, Axis]:
    found: dict[str, Axis] = {}
    for row in top.rows("axis"):
        axis = axes.parse(row, found)
        found[axis.name] = axis
    return found


def _steps(top: Table) -> tuple[Step, ...]:
    found = []
    for row in top.rows("step"):
        key = row.text("key", among=ORDER)
        found.append(Step(key, row.text("title"), row.texts("tasks", ())))
        row.finish()
    return tuple(sorted(found, key=lambda step: ORDER.index(step.key) if step.key else 0))


def _seats(top: Table) -> frozenset[str]:
    """Every `of` of the rules for "fit in hole", before the rules themselves are read."""
    rows = top.data.get("rule")
    found: set[str] = set()
    for row in rows if isinstance(rows, list) else []:
        if isinstance(row, dict) and row.get("need") == "fit in hole":
            of = row.get("of", [])
            found.update([of] if isinstance(of, str) else of if isinstance(of, list) else [])
    return frozenset(found)


def _rules(top: Table, book: Book, steps: Collection[str]) -> tuple[Rule, ...]:
    read = [rules.parse(row, book, steps) for row in top.rows("rule")]
    found = [rule for rule in read if rule is not None]
    if len({rule.name for rule in found}) < len(found):
        return tuple(found)  # which is told already
    return tuple(rules.in_order(found, book, top.faults, top.where))
