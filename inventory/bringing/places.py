"""Depots, docks, bins, bays and vans brought in; one may stand in another of the same file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from zoneinfo import available_timezones

from inventory import placing
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.codes.serials import look_up_key
from inventory.incoming.columns import Cells, Column, plain
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, shown, text
from inventory.ledger.line import LineError, place_code
from inventory.models import ItemCode, Person, Place, UnitAlias
from inventory.models.places import DEPTH, OWN_KINDS
from inventory.moving import CannotMove, Writing
from inventory.place_forms import PARENTS

COLUMNS = (
    Column("name", "what people call it; each name once", ("place", "Lagerplatz"), True),
    Column("kind", "depot, dock, bin, bay or van", ("sort", "Art"), True),
    Column("inside", "name or label code of what it stands in", ("in", "parent")),
    Column("code", "what its label says, if it has one already", ("label", "label code")),
    Column("order", "place in the walk, 1 = first", ("walk", "Reihenfolge")),
    Column("time zone", "of a depot, as Europe/Berlin", ("zone",)),
)
_KINDS = {plain(kind): str(kind) for kind in OWN_KINDS}


@dataclass(slots=True)
class _Tree:
    """The places that are there and those of the rows above: by name and by code."""

    by_name: dict[str, tuple[str, int]] = field(default_factory=dict)  # -> kind, levels
    by_code: dict[str, str] = field(default_factory=dict)  # -> name


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row; a place may stand in one of a row above."""
    tree, known, labelled = _Tree(), dict[str, Place](), dict[str, Place]()
    for place in Place.objects.filter(kind__in=OWN_KINDS, subject="").select_related("parent"):
        known.setdefault(place.name.casefold(), place)
        labelled[place.code] = place
        tree.by_name[place.name.casefold()] = (place.kind, len(place.way_up()))
        tree.by_code[place.code] = place.name
    taken = set(Place.objects.values_list("code", flat=True))
    taken |= set(ItemCode.objects.values_list("key", flat=True))
    taken |= set(UnitAlias.objects.values_list("key", flat=True))
    found, keys, zones = [], [], available_timezones()
    for cells in rows:
        asked = Asked(cells)
        data = _data(asked, tree, numbers, zones)
        there = labelled.get(data["code"]) or known.get(data["name"].casefold())
        if there is not None:
            _compare(asked, there, data)
        elif data["code"] in taken:
            asked.wrong("code", f"expected a code of no other thing, got {data['code'][:40]!r}")
        found.append(asked.found(data["name"], data, known=there is not None))
        labels = there is not None and there.code == data["code"]
        keys.append(data["code"] if labels else data["name"].casefold() or None)
        if there is None and data["name"] and not asked.faults:
            levels = tree.by_name.get(data["inside"].casefold(), ("", 0))[1] + 1
            tree.by_name[data["name"].casefold()] = (data["kind"], levels)
            if data["code"]:
                tree.by_code[data["code"]] = data["name"]
                taken.add(data["code"])
    return once_each(found, keys, "name")


def _data(asked: Asked, tree: _Tree, numbers: Numbers, zones: set[str]) -> Data:
    kind = asked.read("kind", lambda cell: choice(cell, _KINDS), "")
    return {
        "name": asked.read("name", lambda cell: text(cell, 120, needed=True), ""),
        "kind": kind,
        "inside": asked.read("inside", lambda cell: _inside(cell, tree, kind), ""),
        "code": asked.read("code", _code, ""),
        "order": asked.read("order", lambda cell: _order(numbers, cell), None),
        "time_zone": asked.read("time zone", lambda cell: _zone(cell, zones), ""),
    }


def _inside(cell: Cell, tree: _Tree, kind: str) -> str:
    name = text(cell, 120)
    if not name:
        return ""
    name = tree.by_code.get(look_up_key(name), name)
    around = tree.by_name.get(name.casefold())
    if around is None:
        raise Wrong(f"expected a place of ours or of a row above, got {shown(cell)}")
    if around[0] not in PARENTS:
        raise Wrong(f"expected {', '.join(PARENTS)} around it, got a {around[0]}")
    if kind in ("depot", "van"):
        raise Wrong(f"expected nothing around a {kind}, got {shown(cell)}")
    if around[1] >= DEPTH - 2:  # a parcel and a bag have to fit in
        raise Wrong(f"expected at most {DEPTH - 2} places in one another, got one more")
    return name


def _code(cell: Cell) -> str:
    found = look_up_key(text(cell, 60))
    if found:
        try:
            place_code(found)
        except LineError as error:
            raise Wrong(f"expected {error.expected}, got {shown(cell)}") from None
    return found


def _order(numbers: Numbers, cell: Cell) -> int | None:
    return None if cell is None else numbers.whole(cell, 0, 1_000_000)


def _zone(cell: Cell, zones: set[str]) -> str:
    found = text(cell, 60)
    if found and found not in zones:
        raise Wrong(f"expected a time zone as Europe/Berlin, got {shown(cell)}")
    return found


def _compare(asked: Asked, there: Place, data: Data) -> None:
    if data["kind"] and there.kind != data["kind"]:
        asked.wrong("kind", f"expected {there.kind} as it is entered, got {data['kind']!r}")
    if data["code"] and there.code != data["code"]:
        words = f"expected {there.code} as its label says, got {data['code'][:40]!r}"
        asked.wrong("code", words)
    inside = there.parent.name if there.parent else ""
    if asked.given("inside") and inside.casefold() != data["inside"].casefold():
        words = f"expected {inside or 'nothing'!r} as it stands, got {data['inside']!r}"
        asked.wrong("inside", words)
    asked.differs("name", there.name, data["name"])
    if data["order"] is not None:
        asked.differs("order", there.order, data["order"])
    if data["time_zone"]:
        asked.differs("time zone", there.time_zone, data["time_zone"])


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Enter new places in the order of the rows, rearrange those that are there."""
    own = Place.objects.filter(kind__in=OWN_KINDS, subject="")
    by_name = {place.name.casefold(): place for place in own}
    by_code = {place.code: place for place in own}
    fresh = []
    for row in rows:
        there = by_code.get(row["code"]) or by_name.get(row["name"].casefold())
        if there is None:
            parent = by_name.get(row["inside"].casefold()) if row["inside"] else None
            if row["inside"] and parent is None:
                raise CannotMove(f"{row['inside']} is no place of ours by now")
            place = Place(
                kind=row["kind"],
                name=row["name"],
                parent=parent,
                order=row["order"] or 0,
                time_zone=row["time_zone"],
                code=row["code"],
            )
            by_name[row["name"].casefold()] = place
            fresh.append(place)
        else:
            order = there.order if row["order"] is None else row["order"]
            zone = row["time_zone"] or there.time_zone
            placing.rearrange(there, writes.person, name=row["name"], order=order, time_zone=zone)
    placing.make_many(fresh)


PLACES = Kind("places", "Places and vans", "one place", COLUMNS, judge, write, most=1_000)
