"""The tables of the ledger only grow: the database itself refuses everything else."""

from collections.abc import Callable
from datetime import date

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations import AlterField
from django.db.migrations.state import ProjectState

from inventory import audit, charging, label_printing, ordering, serial_lists
from inventory.badges import badge_of
from inventory.bringing import running
from inventory.bringing.kinds import KINDS
from inventory.bringing.looking import look
from inventory.deliveries import enter_list, set_need
from inventory.incoming.reading import Choices
from inventory.models import CartonContent, Event, NoticeUnseen, Place, guard
from inventory.returns import set_rule
from tests.firm import NOW, Firm, element_string
from tests.inventory import deliveries, recalls

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


def fill(shop: Firm) -> None:
    """Put at least one row into each guarded table."""
    module = element_string("A1")
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": module})
    shop.wanda.scan("set_aside", module, reason="dented")
    shop.mona.scan("release", module)
    shop.wanda.scan("count", "09521234000020", target="BIN1", quantity=1)
    shop.wanda.scan("put", "09521234000020", start="BIN1", target="BIN2", quantity=3)
    shop.wanda.scan("count", "09521234000020", target="BIN1", kind="none")
    shop.wanda.scan("come_back", "09521234000020", start="BIN2", kind="left", quantity=1)
    shop.wanda.scan("check_back", subject="return:R1", kind="as_new", target="BIN2")
    set_rule(shop.module, reading="charge in %")
    put = shop.wanda.line("put", module, target="BIN1")
    event = shop.wanda.send(put)[0].id
    shop.wanda.scan("undo", reverses=event)
    told = {"box_of": shop.module, "item": shop.bracket, "since": date(2026, 11, 3)}
    CartonContent.objects.create(**told, quantity=4)
    for quantity in (3, 4):
        shop.wanda.scan("open_box", "BOX-1", quantity=quantity, **{"with": "BRA"})
    shop.wanda.scan("charged", module)
    delivery = deliveries.begin(shop)
    set_need(delivery.supplier, about="fault", key="log", words="Event log", source="terms")
    lines = serial_lists.judge("MOD;L1").rows
    enter_list(delivery, lines)
    about = {"subject": delivery.subject}
    counted = shop.wanda.scan("count_boxes", quantity=1, **about)
    promised = {"supplier": delivery.supplier, "item": shop.bracket, "quantity": 4}
    ordering.enter(shop.mona.person, NOW, **promised, promised_on=date(2026, 12, 1))
    limits = {"days": 180, "recharges": 2, "years": 1, "source": "manual of 1 Feb, page 3"}
    charging.set_rule(shop.module, up_to_c=25, **limits)
    shop.wanda.scan("undo", reverses=counted.id)
    text = b"place;item;quantity\nBIN3;BRA;7\n"
    mona, kind = shop.mona.person, KINDS["stock"]
    file = running.keep(kind, "stock.csv", Choices(), text, mona)
    seen = look(kind, text, "stock.csv", Choices(), None)
    running.go_on(running.begin(file, seen, change=False), mona)
    Place.objects.create(kind="van", code="VAN9", name="Van 9")
    away = shop.wanda.scan("put", module, target="VAN9")
    notice = recalls.letter(shop.mona, "prefix A1")
    recalls.freeze(shop.mona, notice)
    call, unseen = notice.calls.get(), {"item": shop.module, "words": "place 1", "why": "is MOD"}
    NoticeUnseen.objects.create(call=call, event=call.event, **unseen)
    shop.mona.scan("notice_told", subject=notice.subject, number=1, kind="told")
    shop.mona.scan("notice_end", subject=notice.subject, kind="withdrawn", reason="an error")
    shop.wanda.scan("undo", reverses=away.id, hands=badge_of(shop.mona.person))
    paper = {"layout": "roll-50x25", "dpi": 203}
    printer = label_printing.enter_printer(name="Bench", address="ipp://none/x", **paper)
    printed = label_printing.keep(mona, printer, ["BIN1"])
    label_printing.seen(printed, mona, came_out=True)


def refused(statement: str) -> bool:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    except DatabaseError as error:
        return "only grows" in str(error)
    return False


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_neither_changed_nor_deleted(shop: Firm, table: str) -> None:
    """Raw UPDATE and DELETE of a row raise and leave it as it was."""
    fill(shop)
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
def test_rows_are_not_replaced(shop: Firm, table: str) -> None:
    """REPLACE deletes the old row first: only recursive triggers see that."""
    fill(shop)

    assert refused(f"REPLACE INTO {table} SELECT * FROM {table}")


@pytest.mark.postgres_only
@pytest.mark.parametrize("table", TABLES)
def test_tables_are_not_emptied(shop: Firm, table: str) -> None:
    """TRUNCATE fires no row trigger: it has one of its own."""
    fill(shop)
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
