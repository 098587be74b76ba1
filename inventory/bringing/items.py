"""Items brought in: code, name, how it is followed; what never changes is refused if it does."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from inventory import catalogue
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.incoming.columns import Cells, Column, plain
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, text
from inventory.models import Item, Person, Tracking
from inventory.models.things import BaseUnit
from inventory.moving import Writing

COLUMNS = (
    Column("code", "our code of it, up to 40 characters", ("item", "item code", "Artikel"), True),
    Column("name", "what people call it", ("description", "Bezeichnung"), True),
    Column(
        "followed",
        "serial, lot, count, length, tool or supply; fixed for ever; empty: count",
        ("tracking", "followed by"),
    ),
    Column("unit", "piece, mm, ul or mm2; fixed for ever; empty: piece", ("base unit",)),
    Column("grams", "mass of one, in grams; of a metre where it is cut", ("mass", "Gramm")),
    Column("opened days", "days it keeps once opened", ("keeps opened",)),
    Column("cost", "what it costs, in the coin of the firm: 12.50", ("price", "Preis")),
    Column("cost for", "for how many base units; empty: 1", ("price for", "per")),
)
_FOLLOWED = {plain(word): word for word in Tracking.values} | {
    "batch": "lot",
    "number": "count",
    "reel": "length",
}
_UNITS = {plain(word): word for word in BaseUnit.values} | {"pieces": "piece", "pcs": "piece"}
_MOST = 2_000_000_000
_CHANGED = ("name", "mass_g", "cost", "cost_for", "opened_days")
_STORED = ("code", "tracking", "unit", *_CHANGED)


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row against the catalogue."""
    codes = {str(row["code"]) for row in rows}
    known = {item.code: item for item in Item.objects.all() if item.code in codes}
    found, keys = [], []
    for cells in rows:
        asked = Asked(cells)
        code = asked.read("code", lambda cell: text(cell, 40, needed=True), "")
        item = known.get(code)
        if code and not code.isprintable():
            asked.wrong("code", "expected printable characters")
        data = _data(asked, code, numbers)
        if item is not None:
            _compare(asked, item, data)
        found.append(asked.found(f"{code} {data['name']}", data, known=item is not None))
        keys.append(code or None)
    return once_each(found, keys, "code")


def _data(asked: Asked, code: str, numbers: Numbers) -> Data:
    def whole(cell: Cell, low: int = 0) -> int | None:
        return None if cell is None else numbers.whole(cell, low, _MOST)

    def cents(cell: Cell) -> int | None:
        return None if cell is None else numbers.whole(cell, 0, 10**12, times=100)

    name = asked.read("name", lambda cell: text(cell, 120, needed=True), "")
    followed = asked.read("followed", lambda cell: choice(cell, _FOLLOWED, first="count"), "count")
    unit = asked.read("unit", lambda cell: choice(cell, _UNITS, first="piece"), "piece")
    if followed == "serial" and unit != "piece":
        asked.wrong("unit", f"expected piece for what is followed by serial, got {unit!r}")
    return {
        "code": code,
        "name": name,
        "tracking": followed,
        "unit": unit,
        "mass_g": asked.read("grams", whole, None),
        "opened_days": asked.read("opened days", whole, None),
        "cost": asked.read("cost", cents, None),
        "cost_for": asked.read("cost for", lambda cell: whole(cell, 1), None),
    }


def _compare(asked: Asked, item: Item, data: Data) -> None:
    for name, column in (("tracking", "followed"), ("unit", "unit")):
        if asked.given(column) and getattr(item, name) != data[name]:
            words = f"expected {getattr(item, name)!r}, fixed for ever, got {data[name]!r}"
            asked.wrong(column, words)
    asked.differs("name", item.name, data["name"])
    for name, column in (
        ("mass_g", "grams"),
        ("opened_days", "opened days"),
        ("cost_for", "cost for"),
    ):
        if data[name] is not None:
            asked.differs(column, getattr(item, name), data[name])
    if data["cost"] is not None:
        asked.differs("cost", Decimal(item.cost) / 100, Decimal(data["cost"]) / 100)


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Enter new items and change those that are there; what a row leaves out stays as it is."""
    known = {item.code: item for item in Item.objects.filter(code__in=[r["code"] for r in rows])}
    fresh = []
    for row in rows:
        given = {
            name: value for name, value in row.items() if name in _STORED and value is not None
        }
        item = known.get(row["code"])
        if item is None:
            fresh.append(Item(**given))
            continue
        values = {name: given.get(name, getattr(item, name)) for name in _CHANGED}
        catalogue.change_item(item, **values, by=writes.person)
    catalogue.enter_items(fresh)


ITEMS = Kind("items", "Items", "one item", COLUMNS, judge, write)
