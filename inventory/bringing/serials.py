"""Suppliers' serial files brought in: which serials a delivery should hold, and in which box."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from inventory import deliveries
from inventory.bringing.finding import Items, printed_serial
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.incoming.columns import Cells, Column
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, as_printed, shown, text
from inventory.models import Delivery, Item, ListedSerial, Person, Tracking
from inventory.moving import CannotMove, Writing
from inventory.serial_lists import MOST, Row, among_others, box_key

COLUMNS = (
    Column("delivery", "our code of it (D12) or the number of its note", ("note",), True),
    Column("item", "our code of it or its article number", ("article", "Artikel"), True),
    Column("serial", "as printed, as text", ("serial no", "serial number", "Seriennummer"), True),
    Column("box", "the box's own code", ("carton", "Karton")),
)


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row, then each serial beside the others of its item."""
    items, notes = Items(), _notes()
    known = {
        (delivery, item, key): box
        for delivery, item, key, box in ListedSerial.objects.current().values_list(
            "delivery__code", "item__code", "key", "box"
        )
    }
    asking = [Asked(cells) for cells in rows]
    read = [_read(asked, items, notes) for asked in asking]
    good = [place for place, one in enumerate(read) if not asking[place].faults]
    beside = [(items.by_code[read[place]["item"]].pk, read[place]["key"]) for place in good]
    for place, words in among_others(beside).items():
        asking[good[place]].wrong("serial", words)
    found, keys = [], []
    for asked, data in zip(asking, read, strict=True):
        key = (data["delivery"], data["item"], data["key"])
        there = known.get(key)
        if there is not None and data["box"]:
            asked.differs("box", there, data["box"])
        about = f"{data['item']} {data['serial']} in {data['delivery']}"
        found.append(asked.found(about, data, known=there is not None))
        keys.append(key if data["key"] else None)
    return once_each(found, keys, "serial")


def _notes() -> dict[str, list[Delivery]]:
    found = defaultdict[str, list[Delivery]](list)
    for delivery in Delivery.objects.all():
        for name in {delivery.code, delivery.note}:
            found[name].append(delivery)
    return found


def _read(asked: Asked, items: Items, notes: dict[str, list[Delivery]]) -> Data:
    item = asked.read("item", lambda cell: _item(items, cell), None)
    serial, key = asked.read("serial", printed_serial, ("", ""))
    return {
        "delivery": asked.read("delivery", lambda cell: _delivery(notes, cell), ""),
        "item": item.code if item else "",
        "serial": serial,
        "key": key,
        "box": asked.read("box", _box, ""),
    }


def _item(items: Items, cell: Cell) -> Item | None:
    item = items.named(cell)
    if item.tracking != Tracking.SERIAL:
        raise Wrong(f"expected an item that is followed by serial, got {shown(cell)}")
    return item


def _delivery(notes: dict[str, list[Delivery]], cell: Cell) -> str:
    named = notes.get(text(cell, 60, needed=True), [])
    if len(named) != 1:
        got = "none" if not named else f"{len(named)} with this number"
        raise Wrong(f"expected a delivery that is entered, got {got}: {shown(cell)}")
    return named[0].code


def _box(cell: Cell) -> str:
    try:
        return box_key(as_printed(cell, "box's code").strip())
    except ValueError as error:
        raise Wrong(str(error)) from None


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Add the lines to their deliveries."""
    items = {item.code: item for item in Item.objects.filter(tracking=Tracking.SERIAL)}
    by_delivery = defaultdict[str, list[Row]](list)
    for row in rows:
        item = items.get(row["item"])
        if item is None:
            raise CannotMove(f"{row['item']} is no item with serials by now")
        by_delivery[row["delivery"]].append(Row(item, row["serial"], row["key"], row["box"]))
    for delivery in Delivery.objects.filter(code__in=by_delivery):
        deliveries.enter_list(delivery, by_delivery[delivery.code])


SERIALS = Kind(
    "serials",
    "Suppliers' serials",
    "one serial of a delivery",
    COLUMNS,
    judge,
    write,
    most=MOST,
    most_changed=MOST,  # a line is added for each, nothing is changed
)
