"""The tables of the ledger only grow: the database itself refuses everything else."""

from collections.abc import Callable

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations import AlterField
from django.db.migrations.state import ProjectState

from inventory import audit
from inventory.models import Event, guard
from tests.firm import Firm

# Every table in which a row, once written, is evidence. Named here by hand: a name that goes
# missing from the guard's own list must not go missing from this test.
TABLES = [
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
    "inventory_delivery",
    "inventory_listedserial",
    "inventory_amendment",
]


def refused(statement: str) -> bool:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    except DatabaseError as error:
        return "only grows" in str(error)
    return False


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_neither_changed_nor_deleted(filled: Firm, table: str) -> None:
    """Raw UPDATE and DELETE of a row raise and leave it as it was."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY id")
        before = cursor.fetchall()

    assert before
    assert refused(f"UPDATE {table} SET id = id")
    assert refused(f"DELETE FROM {table}")
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY id")
        assert cursor.fetchall() == before


@pytest.mark.sqlite_only
@pytest.mark.parametrize("table", TABLES)
def test_rows_are_not_replaced(filled: Firm, table: str) -> None:
    """REPLACE deletes the old row first: only recursive triggers see that."""
    assert refused(f"REPLACE INTO {table} SELECT * FROM {table}")


@pytest.mark.postgres_only
@pytest.mark.parametrize("table", TABLES)
def test_tables_are_not_emptied(filled: Firm, table: str) -> None:
    """TRUNCATE fires no row trigger: it has one of its own."""
    with connection.cursor() as cursor:  # keys to be checked later forbid it too, for now
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")

    assert refused(f"TRUNCATE {table} CASCADE")


def test_the_guard_names_every_table_of_the_ledger() -> None:
    """Its list is the one above."""
    assert sorted(guard.GUARDED) == sorted(TABLES)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "spoil",
    [guard.remove, lambda _: replaced_by_nothing(), lambda _: narrowed()],
    ids=["gone", "idle", "narrowed"],
)
def test_a_missing_trigger_is_noticed(spoil: Callable[..., None]) -> None:
    """The system check and the audit fail; a trigger that does nothing counts as missing."""
    with transaction.atomic():
        spoil(connection)
        missing = guard.missing(connection)
        breaches = {f.name: f.problems for f in audit.run()}["the tables only grow"]
        with pytest.raises(SystemCheckError, match="only_grows_inventory_event_update is missing"):
            call_command("check", databases=["default"], tags=["database"])
        guard.install(connection)

    assert "only_grows_inventory_event_update" in missing
    assert "trigger only_grows_inventory_event_update is missing" in breaches
    assert guard.missing(connection) == []


def replaced_by_nothing() -> None:
    """A trigger of the right name that refuses nothing."""
    name, table = "only_grows_inventory_event_update", "inventory_event"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER {name}")
        else:
            cursor.execute(f"DROP TRIGGER {name}")
            cursor.execute(f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} BEGIN SELECT 1; END")


def narrowed() -> None:
    """A trigger of the right name that refuses the change of one column only."""
    name, table = "only_grows_inventory_event_update", "inventory_event"
    act = f"BEFORE UPDATE OF seq ON {table}"
    does = (
        "FOR EACH ROW EXECUTE FUNCTION lastbolt_refuse()"
        if connection.vendor == "postgresql"
        else "BEGIN SELECT RAISE(ABORT, 'table inventory_event only grows: UPDATE refused'); END"
    )
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")
        cursor.execute(f"CREATE TRIGGER {name} {act} {does}")


@pytest.mark.django_db(transaction=True)
def test_triggers_come_back_after_a_table_was_rebuilt() -> None:
    """A migration that alters a column rebuilds the table on SQLite and drops its triggers."""
    state = ProjectState.from_apps(Event._meta.apps)
    wider = AlterField("event", "step", models.CharField(max_length=21))
    narrower = AlterField("event", "step", Event._meta.get_field("step").clone())
    for change in (wider, narrower):
        after = state.clone()
        change.state_forwards("inventory", after)
        with connection.schema_editor() as editor:
            change.database_forwards("inventory", editor, state, after)
        state = after
    dropped = guard.missing(connection)
    call_command("migrate", verbosity=0)

    if connection.vendor == "sqlite":
        assert dropped == ["only_grows_inventory_event_delete", "only_grows_inventory_event_update"]
    assert guard.missing(connection) == []


@pytest.mark.django_db(transaction=True)
def test_migrate_as_typed_puts_back_what_its_own_check_would_refuse() -> None:
    """A guard that a version adds, or that somebody dropped, is refused by every other command."""
    with connection.cursor() as cursor:
        name = "only_grows_inventory_event_update"
        on = " ON inventory_event" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER {name}{on}")
    with pytest.raises(SystemCheckError, match=f"The trigger {name} is missing: run migrate"):
        call_command("check", databases=["default"])
    call_command("migrate", verbosity=0, skip_checks=False)

    assert guard.missing(connection) == []
    call_command("check", databases=["default"])
