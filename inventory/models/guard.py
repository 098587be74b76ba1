"""Append-only, enforced by the database: triggers refuse UPDATE and DELETE on these tables.

SQLite drops triggers when a migration rebuilds a table, so they are made again after every
migrate; a system check and `audit` fail when one is missing.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper

GUARDED = (
    "inventory_event",
    "inventory_outcome",
    "inventory_scan",
    "inventory_held",
    "inventory_movement",
    "inventory_containermove",
    "inventory_hold",
    "inventory_holdrelease",
    "inventory_finding",
    "inventory_findinganswer",
    "inventory_reversal",
    "inventory_recordmark",
    "inventory_cartoncontent",
    "inventory_boxdoubt",
    "inventory_boxdoubtend",
    "inventory_charge",
    "inventory_claim",
    "inventory_claimdue",
    "inventory_claimstep",
    "inventory_delivery",
    "inventory_listedserial",
    "inventory_amendment",
    "inventory_return",
    "inventory_returnstep",
    "inventory_noticerule",
    "inventory_noticefreeze",
    "inventory_noticehit",
    "inventory_noticecall",
    "inventory_noticecall_holds",
    "inventory_noticeunseen",
    "inventory_callanswer",
    "inventory_noticeend",
    "inventory_printjob",
    "inventory_printturn",
)
_WATCHED: dict[str, tuple[str, ...]] = {}
"""Tables of other apps -> the columns that never change; none: no column does."""
_REFUSES = "BEGIN RAISE EXCEPTION 'table % only grows: % refused', TG_TABLE_NAME, TG_OP; END"
_POSTGRES_FUNCTION = (
    "CREATE OR REPLACE FUNCTION lastbolt_refuse() RETURNS trigger LANGUAGE plpgsql"
    f" AS $${_REFUSES}$$"
)


def watch(table: str, *columns: str) -> None:
    """Guard a table of another app too; where columns are named, the others may change."""
    _WATCHED[table] = columns


def names(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of all triggers that should stand in this database, sorted."""
    acts: tuple[str, ...] = ("update", "delete")
    if connection.vendor == "postgresql":
        acts = (*acts, "truncate")
    return sorted(f"only_grows_{table}_{act}" for table in (*GUARDED, *_WATCHED) for act in acts)


def standing(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return name -> text of our triggers that stand in this database, "" where one is idle."""
    if connection.vendor == "postgresql":
        query = (
            "SELECT tgname, CASE WHEN tgenabled IN ('O', 'A') AND prosrc = %s"
            " THEN pg_get_triggerdef(pg_trigger.oid, true) ELSE '' END"
            " FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid"
            " WHERE tgname LIKE 'only_grows_%%'"
        )
        params = [_REFUSES]
    else:
        query = (
            "SELECT name, sql FROM sqlite_master"
            " WHERE type = 'trigger' AND name LIKE 'only_grows_%%'"
        )
        params = []
    with connection.cursor() as cursor:
        cursor.execute(query, params)
        return dict(cursor.fetchall())


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of triggers that should stand and do not, to the letter, sorted."""
    there = standing(connection)
    return [name for name in names(connection) if there.get(name) != _create(connection, name)]


def install(connection: BaseDatabaseWrapper) -> None:
    """Make every missing trigger whose table exists."""
    tables = set(connection.introspection.table_names())
    lacking = [n for n in missing(connection) if n[11:].rpartition("_")[0] in tables]
    if not lacking:
        return
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_POSTGRES_FUNCTION)
        for name in lacking:
            _drop(cursor, connection, name)  # one of that name may stand and do nothing
            cursor.execute(_create(connection, name))


def remove(connection: BaseDatabaseWrapper) -> None:
    """Drop our triggers. Only a test's flush and a restore may do this."""
    with connection.cursor() as cursor:
        for name in sorted(standing(connection)):
            _drop(cursor, connection, name)


@contextmanager
def lifted(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Lift the guard for a test's flush, then put it back."""
    remove(connection)
    try:
        yield
    finally:
        install(connection)


def _drop(cursor: CursorWrapper, connection: BaseDatabaseWrapper, name: str) -> None:
    table = name[11:].rpartition("_")[0]
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")


def _create(connection: BaseDatabaseWrapper, name: str) -> str:
    table, _, verb = name[11:].rpartition("_")
    act = verb.upper()
    columns = _WATCHED.get(table) if act == "UPDATE" else ()
    of = f" OF {', '.join(columns)}" if columns else ""
    if connection.vendor == "postgresql":
        level = "STATEMENT" if act == "TRUNCATE" else "ROW"
        return (
            f"CREATE TRIGGER {name} BEFORE {act}{of} ON {table} "
            f"FOR EACH {level} EXECUTE FUNCTION lastbolt_refuse()"
        )
    return (
        f"CREATE TRIGGER {name} BEFORE {act}{of} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'table {table} only grows: {act} refused'); END"
    )
