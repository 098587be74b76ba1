"""Stacks that stood before the record began: what stands where, as far as anybody knows.

What is not known stays unknown: a serial left out is a place whose unit nobody has seen, a "?"
stands for a character that nobody could read. Recalls tell such things as "cannot tell".
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from inventory import moving_many
from inventory.bringing.finding import Items, printed_batch, printed_serial
from inventory.bringing.kinds import ROWS, Asked, Data, Found, Kind, once_each
from inventory.incoming.columns import Cells, Column
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, day, shown, text
from inventory.models import Event, Item, Person, Place, PlaceKind, Tracking, Unit
from inventory.moving import CannotMove, Writing
from inventory.moving_many import Arrival
from inventory.serial_lists import among_others
from kitting import as_built, withdrawing
from kitting.bringing import sites
from kitting.bringing.sites import Sites
from kitting.calling_crews import unseen_at
from kitting.models import AsBuilt, Installed

COLUMNS = (
    *sites.COLUMNS,
    Column("item", "our code of it or its article number", ("article", "Artikel"), True),
    Column("stack", "number of the stack; empty: 1"),
    Column("place", "place in the stack from below, 1 = lowest", ("level", "Platz")),
    Column("as", "module, head, base or cap; empty: module", ("part",)),
    Column("serial", "as printed, as text; empty: not known; ? unreadable", ("serial no",)),
    Column("revision", "as printed on the unit", ("rev",)),
    Column("batch", "as printed, as text", ("lot", "Charge")),
    Column("made on", "day it was made", ("made",)),
    Column("fitted on", "day it was fitted, if known", ("installed on", "fitted")),
    Column("number on screen", "what its electronics show", ("number",)),
    Column("firmware", "as it was read", ()),
)
ROLES = {"module": "unit", "head": "head", "base": "base", "cap": "cap"}
HIGHEST = 99  # stacks at a site, places in a stack
AT_ONCE = 50  # rows in one transaction


@dataclass(slots=True)
class _Known:
    """What is there of the things that a file names, asked once."""

    items: Items = field(default_factory=Items)
    sites: Sites = field(default_factory=Sites)
    units: dict[tuple[int, str], Unit] = field(default_factory=dict)
    stands: dict[tuple[str, int, int], AsBuilt] = field(default_factory=dict)
    positions: dict[int, tuple[str, int, int]] = field(default_factory=dict)  # of units
    taken: set[tuple[str, int, int]] = field(default_factory=set)  # of rows above, too


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row, then each serial beside the others of its item."""
    known = _Known()
    asking = [Asked(cells) for cells in rows]
    read = [_read(asked, known, numbers) for asked in asking]
    good = [n for n, data in enumerate(read) if data["key"] and not asking[n].faults]
    pairs = [(known.items.by_code[read[n]["item"]].pk, read[n]["key"]) for n in good]
    for place, words in among_others(pairs).items():
        asking[good[place]].wrong("serial", words)
    _gather(known, read)
    known.taken |= {_spot(data) for data in read if data["level"]}
    found, spots, keys = [], [], []
    for asked, data in zip(asking, read, strict=True):
        there = not asked.faults and _there(asked, known, data)
        found.append(asked.found(_about(data), data, known=there))
        good_row = not asked.faults
        spots.append(_spot(data) if good_row else None)
        keys.append((data["item"], data["key"]) if good_row and data["key"] else None)
    return once_each(once_each(found, keys, "serial"), spots, "place in a stack")


def _read(asked: Asked, known: _Known, numbers: Numbers) -> Data:
    item = asked.read("item", lambda cell: _item(known.items, cell), None)
    data = {
        **known.sites.read(asked),
        "item": item.code if item else "",
        "stack": asked.read("stack", lambda cell: _count(numbers, cell), None) or 1,
        "level": asked.read("place", lambda cell: _count(numbers, cell), None) or 0,
        "role": asked.read("as", lambda cell: choice(cell, ROLES, first="unit"), "unit"),
        "revision": asked.read("revision", lambda cell: text(cell, 20), ""),
        "made_on": _iso(asked.read("made on", day, None)),
        "fitted_on": _iso(asked.read("fitted on", day, None)),
        "number": asked.read("number on screen", lambda cell: _number(numbers, cell), None),
        "firmware": asked.read("firmware", lambda cell: text(cell, 60), ""),
    }
    data["batch"], data["batch_key"] = asked.read("batch", printed_batch, ("", ""))
    data["serial"], data["key"] = "", ""
    if asked.given("serial"):
        data["serial"], data["key"] = asked.read("serial", printed_serial, ("", ""))
    elif not data["level"]:
        asked.wrong("place", "expected its place in the stack, as its serial is not known")
    return data


def _item(items: Items, cell: Cell) -> Item:
    item = items.named(cell)
    if item.tracking != Tracking.SERIAL:
        raise Wrong(f"expected an item that is followed by serial, got {shown(cell)}")
    return item


def _count(numbers: Numbers, cell: Cell) -> int | None:
    return None if cell is None else numbers.whole(cell, 1, HIGHEST)


def _number(numbers: Numbers, cell: Cell) -> int | None:
    return None if cell is None else numbers.whole(cell, 0, 1_000_000)


def _iso(found: date | None) -> str:
    return found.isoformat() if found else ""


def _spot(data: Data) -> tuple[str, int, int]:
    return sites.key_of(data), data["stack"], data["level"]


def _about(data: Data) -> str:
    what = data["serial"] or "serial not known"
    where = f"stack {data['stack']}, place {data['level']}" if data["level"] else "its stack"
    return f"{data['item']} {what} at {sites.shown_as(data)}, {where}"


def _gather(known: _Known, read: Sequence[Data]) -> None:
    keys = sorted({data["key"] for data in read if data["key"]})
    for start in range(0, len(keys), 500):
        units = Unit.objects.filter(serial_key__in=keys[start : start + 500])
        for unit in units.select_related("place"):
            known.units[unit.item_id, unit.serial_key] = unit
    codes = {data["site"] for data in read if data["site"]}
    rows = AsBuilt.objects.filter(site__code__in=codes, until=None)
    for row in rows.select_related("site", "unit__item", "item"):
        spot = (row.site.code, row.stack, row.level)
        known.stands[spot] = row
        known.taken.add(spot)
        if row.unit_id:
            known.positions[row.unit_id] = spot


def _there(asked: Asked, known: _Known, data: Data) -> bool:
    """Whether the record has just this; what it has otherwise is told in the row."""
    item = known.items.by_code[data["item"]]
    unit = known.units.get((item.pk, data["key"])) if data["key"] else None
    spot = known.positions.get(unit.pk) if unit else None
    if unit is not None and spot is not None and spot[0] == data["site"]:
        data["level"] = data["level"] or spot[2]
        if spot != _spot(data):
            told = f"expected stack {spot[1]}, place {spot[2]} as the record has it"
            asked.wrong("place", f"{told}, got stack {data['stack']}, place {data['level']}")
        return True
    if unit is not None and unit.place is not None and unit.place.kind != PlaceKind.ELSEWHERE:
        asked.wrong("serial", f"expected one that stands nowhere yet, it is at {unit.place}")
        return False
    if not data["level"]:
        data["level"] = _free(known, data)
        known.taken.add(_spot(data))
    held = known.stands.get(_spot(data))
    if held is None:
        return False
    same = held.kind_of.pk == item.pk
    if held.unit is None and same:
        return not data["key"]  # with a serial the unit becomes known
    asked.wrong("place", f"expected a free place, it holds {held.what} by the record")
    return False


def _free(known: _Known, data: Data) -> int:
    key, stack, _ = _spot(data)
    return next(n for n in itertools.count(1) if (key, stack, n) not in known.taken)


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Let units stand where the rows say. Raises CannotMove where something stands by now."""
    items = {item.code: item for item in Item.objects.filter(code__in={r["item"] for r in rows})}
    if len(items) < len({row["item"] for row in rows}):
        raise CannotMove("An item is gone by now")
    places = [site.place for site in sites.opened(rows, writes.event)]
    known = [n for n, row in enumerate(rows) if row["key"]]
    arrivals = [_arrival(rows[n], items[rows[n]["item"]], places[n]) for n in known]
    units = dict(zip(known, moving_many.stand(writes, arrivals), strict=True))
    brought = as_built.install(
        writes.event,
        [
            Installed(
                event=writes.event,
                site=places[n],
                stack=row["stack"],
                level=row["level"],
                role=row["role"],
                unit=units.get(n),
                item=None if n in units else items[row["item"]],
                batch=row["batch"],
                made_on=_date(row["made_on"]),
                fitted_on=_date(row["fitted_on"]),
                number=row["number"],
                firmware=row["firmware"],
            )
            for n, row in enumerate(rows)
        ],
    )
    writes.learned += [unseen_at(one.item_id, one, one) for one in brought if one.item_id]


def _arrival(row: Data, item: Item, site: Place) -> Arrival:
    return Arrival(
        item,
        row["serial"],
        row["key"],
        as_built.stack_place(site, row["stack"]),
        revision=row["revision"],
        made_on=_date(row["made_on"]),
        batch=row["batch"],
        batch_key=row["batch_key"],
    )


def _date(iso: str) -> date | None:
    return date.fromisoformat(iso) if iso else None


def undo(writes: Writing, rows: Sequence[Data], done: Event) -> None:
    """What stands follows from the events that are left; sites entered for it are gone."""
    for place in Place.objects.filter(installed__event=done).distinct():
        as_built.refold(place)
    withdrawing.close_sites(done)


INSTALLED = Kind(
    "installed",
    "Stacks that stand already",
    "one unit of a stack",
    COLUMNS,
    judge,
    write,
    at_once=AT_ONCE,
    most=ROWS,
    undo=undo,
    once=True,
    personal=True,
)
