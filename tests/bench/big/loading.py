"""Loads a history in bulk: executemany on SQLite, COPY on PostgreSQL; guards and indexes stand."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

from django.core.management import call_command
from django.db import connection
from django.db.models import Model

from inventory.ledger import tree
from inventory.models import (
    Device,
    Event,
    Holding,
    Item,
    ItemCode,
    Lot,
    Movement,
    Outcome,
    Person,
    Place,
    RecordMark,
    Scan,
    Unit,
    guard,
)
from tests.bench.big import history
from tests.bench.big.history import BEGAN, BINS, DOCK, SUPPLIER, VANS, Firm, Row

BIG = {"event": Event, "outcome": Outcome, "scan": Scan, "movement": Movement}
NAMES = {
    Event: "id number uid line sha256 step person_id device_id seq device_time received_at subject",
    Outcome: "id number event_id verdict line sentence",
    Scan: "id event_id text via read_as unit_id item_id place_id",
    Movement: "id event_id unit_id lot_id from_place_id to_place_id quantity",
    Device: "id uid label person_id registered_at high_water",
    Place: "id uid kind code name parent_id",
    Lot: "id uid item_id number key",
    Unit: "id uid item_id lot_id serial serial_key evidence place_id",
    Holding: "id place_id lot_id quantity outside",
    RecordMark: "id size root peaks",
}  # the columns that rows give, in their order; every other one gets what a new row gets
_HASTE = ("synchronous = OFF", "cache_size = -400000", "temp_store = MEMORY", "foreign_keys = OFF")


def load(firm: Firm) -> None:
    """Fill the empty database that Django is set to; nothing but this may use it meanwhile."""
    call_command("migrate", verbosity=0)
    with _in_haste(), _without_indexes():
        write = _copy if connection.vendor == "postgresql" else _insert
        _things(firm, write)
        for tables in history.chunks(firm):
            for name, rows in tables.items():
                write(BIG[name], rows)
        _ends(firm, write)
    _settle()
    assert guard.missing(connection) == []


Write = Callable[[type[Model], Iterable[Row]], None]


def _things(firm: Firm, write: Write) -> None:
    """Who and what there is before the first event; row ids are those that `history` counts on."""
    Person.objects.create_user("bench", None, roles=["manager", "warehouse"])
    day = f"{BEGAN:%Y-%m-%d %H:%M:%S}"
    last = -(-firm.movements // history.DEVICES)
    write(
        Device,
        (
            (n, history.device_uid(n).replace("-", ""), f"Bench {n}", 1, day, last)
            for n in range(1, history.DEVICES + 1)
        ),
    )
    Item.objects.bulk_create(
        Item(code=f"MODULE-{n}", name="Module", tracking="serial")
        for n in range(1, history.ITEMS + 1)
    )
    numbers = ((n, history.gtin(n)) for n in range(1, history.ITEMS + 1))
    ItemCode.objects.bulk_create(ItemCode(item_id=n, text=text, key=text) for n, text in numbers)
    kinds = [(SUPPLIER, "supplier", None), (2, "depot", None), (DOCK, "dock", 2)]
    kinds += [(DOCK + n, "bin", 2) for n in range(1, BINS + 1)]
    first = DOCK + BINS
    kinds += [(first + n, "van", None) for n in range(1, VANS + 1)]
    kinds += [(first + VANS + n, "site", None) for n in range(1, firm.sites + 1)]
    write(Place, (_place(pk, kind, parent) for pk, kind, parent in kinds))
    write(
        Lot,
        (
            (n, _uid(2, n), history.item_of(n), f"L{n:05d}", f"L{n:05d}")
            for n in range(1, firm.lots + 1)
        ),
    )
    write(Unit, (_unit(firm, n) for n in range(1, firm.units + 1)))


def _place(pk: int, kind: str, parent: int | None) -> Row:
    text = history.code(pk)
    return (pk, _uid(1, pk), kind, text, text, parent)


def _unit(firm: Firm, unit: int) -> Row:
    lot, text = firm.lot_of(unit), history.serial(unit)
    place = firm.place(unit, history.STEPS - 1)
    return (unit, _uid(3, unit), history.item_of(lot), lot, text, text, "seen", place)


def _uid(table: int, pk: int) -> str:
    return f"01a000000000700{table}8{pk:015x}"


def _ends(firm: Firm, write: Write) -> None:
    """What the side tables hold after the last event, and the record mark over all of it."""
    held = sorted(firm.holdings.items())
    write(
        Holding,
        (
            (n, place, lot, quantity, place == SUPPLIER)
            for n, ((place, lot), quantity) in enumerate(held, 1)
        ),
    )
    peaks = json.dumps([peak.hex() for peak in firm.peaks])
    write(RecordMark, [(1, firm.size, tree.root(firm.peaks).hex(), peaks)])


def _columns(model: type[Model]) -> tuple[list[str], Row]:
    """The columns of a table, those first that rows give, and the values of the others."""
    given = NAMES[model].split()
    fields = {str(field.column): field for field in model._meta.concrete_fields}
    others = [name for name in fields if name not in given]
    values = (
        fields[name].get_db_prep_save(fields[name].get_default(), connection) for name in others
    )
    return [f'"{name}"' for name in [*given, *others]], tuple(values)


def _insert(model: type[Model], rows: Iterable[Row]) -> None:
    names, others = _columns(model)
    room = ", ".join(["?"] * len(names))
    into = f"INSERT INTO {model._meta.db_table} ({', '.join(names)}) VALUES ({room})"
    connection.ensure_connection()
    connection.connection.execute("BEGIN")
    connection.connection.executemany(into, (row + others for row in rows))
    connection.connection.execute("COMMIT")


def _copy(model: type[Model], rows: Iterable[Row]) -> None:
    names, others = _columns(model)
    into = f"COPY {model._meta.db_table} ({', '.join(names)}) FROM STDIN"
    with connection.cursor() as cursor, cursor.copy(into) as copy:
        waiting: list[str] = []
        for row in rows:
            waiting.append("\t".join("\\N" if v is None else str(v) for v in row + others))
            if len(waiting) == history.CHUNK:
                copy.write("\n".join(waiting) + "\n")
                waiting.clear()
        if waiting:
            copy.write("\n".join(waiting) + "\n")


@contextmanager
def _in_haste() -> Iterator[None]:
    """Nothing that is loaded needs to survive a crash before the load is done."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET synchronous_commit = off")
            cursor.execute("SET session_replication_role = replica")  # no foreign keys, no guards
            cursor.execute("SET maintenance_work_mem = '1GB'")
        else:
            for pragma in _HASTE:
                cursor.execute(f"PRAGMA {pragma}")
    yield
    connection.close()  # the next one is set up as the program sets it up


@contextmanager
def _without_indexes() -> Iterator[None]:
    """Indexes that are no constraints are dropped and built again, as it is done in bulk loads."""
    lite = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql LIKE 'CREATE INDEX%'"
    post = (
        "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'"
        " AND indexdef LIKE 'CREATE INDEX%' AND tablename LIKE 'inventory_%'"
    )
    with connection.cursor() as cursor:
        cursor.execute(post if connection.vendor == "postgresql" else lite)
        kept = cursor.fetchall()
        for name, _ in kept:
            cursor.execute(f'DROP INDEX "{name}"')
        yield
        for _, definition in kept:
            cursor.execute(definition)


def _settle() -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for model in (*BIG.values(), Unit, Lot, Place, Holding, RecordMark, Device):
                table = model._meta.db_table
                cursor.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) FROM {table}"
                )
            cursor.execute("VACUUM ANALYZE")
        else:
            cursor.execute("ANALYZE")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
