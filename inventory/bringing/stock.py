"""Stock brought in: what lies where, counted; and what stands where, each by its serial.

A quantity is a count of that batch at that place, and the first one says that the item is kept
there. A serial is a unit that nobody entered before; one that stands elsewhere is moved by a scan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.db.models import QuerySet, Subquery
from django.utils import timezone

from inventory import charging, counting, moving_many
from inventory.bringing.finding import Items, Places, printed_batch, printed_serial
from inventory.bringing.kinds import ROWS, Asked, Data, Found, Kind, once_each
from inventory.incoming.columns import Cells, Column, plain
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, day, shown, text
from inventory.ledger.line import MOST
from inventory.models import (
    BroughtFile,
    Event,
    Holding,
    Item,
    Kept,
    Lot,
    Movement,
    Person,
    Place,
    PlaceKind,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing
from inventory.moving_many import Arrival, Counted
from inventory.rows import Among, Question, Slot
from inventory.serial_lists import among_others

COLUMNS = (
    Column("place", "label code or name of a place of ours", ("bin", "Lagerplatz"), True),
    Column("item", "our code of it or its article number", ("article", "Artikel"), True),
    Column("quantity", "counted; empty where there is a serial", ("count", "Menge")),
    Column("unit", "of the quantity: pieces, mm, cm, m, ul, ml, l, mm2, m2", ("Einheit",)),
    Column("counted", "no: the book's figure, which nobody has counted; empty: yes"),
    Column("batch", "as printed, as text", ("lot", "Charge")),
    Column("use by", "day of the batch, as 2027-03-31 or 31.03.2027", ("expires", "best before")),
    Column("serial", "as printed, as text", ("serial no", "serial number", "Seriennummer")),
    Column("revision", "as printed on the unit", ("rev",)),
    Column("made on", "day it was made", ("made", "date of manufacture")),
    Column("last charged", "day it was charged last", ("charged",)),
)
IN_BASE = {
    "piece": {"piece": 1, "pieces": 1, "pcs": 1, "stuck": 1},
    "mm": {"mm": 1, "cm": 10, "m": 1000},
    "ul": {"ul": 1, "ml": 1000, "l": 1_000_000},
    "mm2": {"mm2": 1, "cm2": 100, "m2": 1_000_000},
}
AT_ONCE = 200  # rows in one transaction: some 40 ms of the ledger's lock, undone in some 110 ms
COUNTED = {"yes": "yes", "no": "no", "ja": "yes", "nein": "no"}
BATCHED = (Tracking.LOT, Tracking.LENGTH)


_ITEMS = Question(lambda: Item.objects.filter(code__in=Among(Item, "code")))
_PLACES = Question(lambda: Place.objects.filter(code__in=Among(Place, "code")))


@dataclass(slots=True)
class _Known:
    """What is there of the things that a file names, asked once."""

    items: Items = field(default_factory=Items)
    places: Places = field(default_factory=Places)
    units: dict[tuple[int, str], Unit] = field(default_factory=dict)
    lots: dict[tuple[int, str], Lot] = field(default_factory=dict)
    book: dict[tuple[int, int], int] = field(default_factory=dict)  # place, lot -> base units
    kept: set[tuple[int, int]] = field(default_factory=set)  # place, item


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row, then each serial beside the others of its item."""
    known = _Known()
    asking = [Asked(cells) for cells in rows]
    read = [_read(asked, known, numbers) for asked in asking]
    _beside(asking, read, known)
    _gather(known, read)
    found, keys = [], []
    for asked, data in zip(asking, read, strict=True):
        item, place = known.items.by_code.get(data["item"]), known.places.by_code.get(data["place"])
        there, note = False, ""
        if item is not None and place is not None and not asked.faults:
            if item.tracking == Tracking.SERIAL:
                there = _unit_there(asked, known, item, place, data)
            else:
                there, note = _lot_there(asked, known, item, place, data)
        found.append(asked.found(_about(data, place), data, known=there, note=note))
        keys.append(None if asked.faults else _thing(data))
    return once_each(found, keys, "thing")


def _thing(data: Data) -> tuple[str, ...]:
    if "key" in data:
        return (data["item"], data["key"])
    return (data["place"], data["item"], data["batch_key"])


def _about(data: Data, place: Place | None) -> str:
    where = place.name if place else "no place of ours"
    if "key" in data:
        return f"{data['item']} {data['serial']} at {where}"
    batch = f" batch {data['batch']}" if data["batch"] else ""
    return f"{data['quantity']} x {data['item']}{batch} at {where}"


def _read(asked: Asked, known: _Known, numbers: Numbers) -> Data:
    place = asked.read("place", lambda cell: _code(known.places.named(cell)), "")
    code = asked.read("item", lambda cell: known.items.named(cell).code, "")
    item = known.items.by_code.get(code)
    if item is not None and item.tracking == Tracking.SUPPLY:
        asked.wrong("item", "expected what is counted, got what is kept by two bins")
    if item is not None and item.tracking == Tracking.SERIAL:
        return {"place": place, "item": code, **_serial(asked, numbers)}
    if asked.given("serial"):
        asked.wrong("serial", "expected none for what is not followed by serial")
    return {"place": place, "item": code, **_counted(asked, item, numbers)}


def _code(place: Place) -> str:
    return str(place.code)


def _serial(asked: Asked, numbers: Numbers) -> Data:
    if asked.given("quantity"):
        asked.read("quantity", lambda cell: numbers.whole(cell, 1, 1), 1)
    for name in ("use by", "counted"):
        if asked.given(name):
            asked.wrong(name, "expected none for what is followed by serial")
    serial, key = asked.read("serial", printed_serial, ("", ""))
    batch, batch_key = asked.read("batch", printed_batch, ("", ""))
    return {
        "serial": serial,
        "key": key,
        "batch": batch,
        "batch_key": batch_key,
        "revision": asked.read("revision", lambda cell: text(cell, 20), ""),
        "made_on": _iso(asked.read("made on", day, None)),
        "last_charged": _iso(asked.read("last charged", _past, None)),
    }


def _past(cell: Cell) -> date | None:
    found = day(cell)
    if found is not None and found > timezone.now().date():
        raise Wrong(f"expected a day that is not still to come, got {shown(cell)}")
    return found


def _iso(found: date | None) -> str:
    return found.isoformat() if found else ""


def _counted(asked: Asked, item: Item | None, numbers: Numbers) -> Data:
    base = item.unit if item else "piece"
    words = {plain(word): word for word in IN_BASE[base]}
    unit = asked.read("unit", lambda cell: choice(cell, words, first=base), base)
    times = IN_BASE[base][unit]
    quantity = asked.read("quantity", lambda cell: numbers.whole(cell, 0, MOST, times=times), 0)
    batch, key = asked.read("batch", printed_batch, ("", ""))
    use_by = asked.read("use by", day, None)
    if use_by and not batch:
        asked.wrong("use by", "expected it with a batch, got none")
    counted = asked.read("counted", lambda cell: choice(cell, COUNTED, first="yes"), "yes")
    return {
        "quantity": quantity,
        "counted": counted == "yes",
        "batch": batch,
        "batch_key": key,
        "use_by": _iso(use_by),
    }


def _beside(asking: Sequence[Asked], read: Sequence[Data], known: _Known) -> None:
    good = [n for n, data in enumerate(read) if data.get("key") and not asking[n].faults]
    pairs = [(known.items.by_code[read[n]["item"]].pk, read[n]["key"]) for n in good]
    for place, words in among_others(pairs).items():
        asking[good[place]].wrong("serial", words)


def _gather(known: _Known, read: Sequence[Data]) -> None:
    keys = sorted({data["key"] for data in read if data.get("key")})
    for start in range(0, len(keys), 500):
        rows = Unit.objects.filter(serial_key__in=keys[start : start + 500])
        for unit in rows.select_related("place"):
            known.units[unit.item_id, unit.serial_key] = unit
    items = {known.items.by_code[d["item"]].pk for d in read if "quantity" in d and d["item"]}
    known.lots = {(lot.item_id, lot.key): lot for lot in Lot.objects.filter(item__in=items)}
    held = Holding.objects.filter(lot__item__in=items, outside=False)
    known.book = {(p, lot): n for p, lot, n in held.values_list("place", "lot", "quantity")}
    known.kept = set(Kept.objects.filter(item__in=items).values_list("place", "item"))


def _unit_there(asked: Asked, known: _Known, item: Item, place: Place, data: Data) -> bool:
    unit = known.units.get((item.pk, data["key"]))
    if unit is None:
        return False
    if data["revision"] and unit.revision != data["revision"]:
        words = f"expected {unit.revision or 'none'!r} as it is entered, got {data['revision']!r}"
        asked.wrong("revision", words)
    if unit.place is None or unit.place.kind == PlaceKind.ELSEWHERE:
        return False
    if unit.place_id != place.pk:
        words = f"expected it at {unit.place} as the book has it, got {place}: move it by a scan"
        asked.wrong("place", words)
    return True


def _lot_there(
    asked: Asked, known: _Known, item: Item, place: Place, data: Data
) -> tuple[bool, str]:
    lot = known.lots.get((item.pk, data["batch_key"]))
    if lot is not None and data["use_by"] and _iso(lot.expires_on) != data["use_by"]:
        words = f"expected {_iso(lot.expires_on) or 'none'} as the batch has it"
        asked.wrong("use by", f"{words}, got {data['use_by']}")
    if lot is None and data["batch"] and item.tracking not in BATCHED:
        asked.wrong("batch", "expected none for what is not followed by batch")
    booked = known.book.get((place.pk, lot.pk), 0) if lot else 0
    if not data["counted"]:
        if booked != data["quantity"]:
            words = f"expected {booked} as the book has it, got {data['quantity']}"
            asked.wrong("quantity", f"{words}: leave `counted` empty for what you counted")
        return True, ""
    if (place.pk, item.pk) in known.kept:
        asked.differs("quantity", booked, data["quantity"])
        return True, ""
    return False, f"the book had {booked} uncounted" if booked not in (0, data["quantity"]) else ""


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Let units stand and quantities lie where the rows say. Raises CannotMove."""
    items = {item.code: item for item in _ITEMS.ask(code={row["item"] for row in rows})}
    places = {place.code: place for place in _PLACES.ask(code={row["place"] for row in rows})}
    for row in rows:
        if row["item"] not in items or row["place"] not in places:
            raise CannotMove(f"{row['item']} or {row['place']} is gone by now")
    standing = [row for row in rows if "key" in row]
    if standing:
        arrivals = [_arrival(r, items[r["item"]], places[r["place"]]) for r in standing]
        units = moving_many.stand(writes, arrivals)
        dated = zip(units, arrivals, strict=True)
        charging.brought(
            writes.event, [(u, one.last_charged) for u, one in dated if one.last_charged]
        )
    counted = [row for row in rows if "quantity" in row]
    if counted:
        lots = moving_many.lots(
            (items[r["item"]], r["batch"], r["batch_key"], _date(r["use_by"])) for r in counted
        )
        found = [
            Counted(lots[items[r["item"]].pk, r["batch_key"]], places[r["place"]], r["quantity"])
            for r in counted
        ]
        moving_many.settle(writes, _as_of_now(writes.line.subject, found))


def _moved_since() -> QuerySet[Movement, Any]:
    """What others moved since a file was begun, of some batches."""
    code = Slot(BroughtFile, "code")
    begun = BroughtFile.objects.filter(code=code).values("begun_after")
    others = Event.objects.filter(number__gt=Subquery(begun)).exclude(brought_part__file__code=code)
    # Asked by event: by batch it would walk all that this file itself has moved, part by part.
    moved = Movement.objects.filter(event__in=others, lot__in=Among(Movement, "lot"))
    return moved.values_list("lot", "from_place", "to_place", "quantity")


_MOVED_SINCE = Question(_moved_since)


def _as_of_now(subject: str, counts: Sequence[Counted]) -> list[Counted]:
    """Return what lies there by now: it was counted before the file was begun, and work goes on."""
    lots = {one.lot.pk for one in counts}
    since = _MOVED_SINCE.tuples(code=subject.removeprefix("file:"), lot=lots)
    net = Counter[tuple[int, int]]()
    for lot, start, to, quantity in since:
        net[lot, start] -= quantity
        net[lot, to] += quantity
    return [
        replace(one, quantity=max(one.quantity + net[one.lot.pk, one.at.pk], 0)) for one in counts
    ]


def _arrival(row: Data, item: Item, place: Place) -> Arrival:
    return Arrival(
        item,
        row["serial"],
        row["key"],
        place,
        row["revision"],
        _date(row["made_on"]),
        _date(row["last_charged"]),
        row["batch"],
        row["batch_key"],
    )


def _date(iso: str) -> date | None:
    return date.fromisoformat(iso) if iso else None


def undo(writes: Writing, rows: Sequence[Data], done: Event) -> None:
    """Items are no longer kept where this count began the keeping, but by a later count."""
    counting.forget(list(Kept.objects.filter(event=done).select_related("place")), done)
    charging.unbrought(done)


STOCK = Kind(
    "stock",
    "Stock",
    "one quantity, or one thing with its serial",
    COLUMNS,
    judge,
    write,
    at_once=AT_ONCE,
    most=ROWS,
    undo=undo,
    once=True,
)
