"""The audit notices every breach, and says how much it read."""

import json
import sqlite3
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from inventory import audit, digest
from inventory.checks.report import Check, Report
from inventory.models import Event, Holding, Place, Unit, guard
from tests.firm import Firm, element_string

# What somebody with the database's password might do, and the check that tells.
TAMPERED = [
    ("UPDATE inventory_event SET line = '{}' WHERE number = 1", "event lines are what came"),
    (
        "UPDATE inventory_event SET line = replace(line, 'DOCK', 'BIN1') WHERE number = 1",
        "event lines are what came",
    ),
    ("UPDATE inventory_event SET sha256 = 'ab' WHERE number = 1", "event lines are what came"),
    ("UPDATE inventory_event SET step = 'put' WHERE number = 1", "event lines are what came"),
    ("UPDATE inventory_event SET seq = 99 WHERE number = 1", "event lines are what came"),
    ("UPDATE inventory_event SET subject = 'kit:1' WHERE number = 1", "event lines are what came"),
    ("UPDATE inventory_event SET seq = 99 WHERE number = 1", "devices' numbers and gaps"),
    ("UPDATE inventory_event SET number = 9999 WHERE number = 1", "numbers run without a hole"),
    ("UPDATE inventory_outcome SET number = 9999 WHERE number = 2", "numbers run without a hole"),
    ("DELETE FROM inventory_outcome WHERE number = 2", "outcomes stand"),
    ("UPDATE inventory_outcome SET sentence = 'x' WHERE number = 2", "outcomes stand"),
    ("UPDATE inventory_outcome SET verdict = 'noted' WHERE number = 2", "outcomes stand"),
    (
        "UPDATE inventory_outcome SET verdict = 'noted' WHERE number = 2",
        "only what was decided moved",
    ),
    ("DELETE FROM inventory_scan", "scans and events agree"),
    ("UPDATE inventory_scan SET text = 'x'", "scans and events agree"),
    ("UPDATE inventory_scan SET via = 'hand'", "scans and events agree"),
    ("DELETE FROM inventory_held", "hands are the badges' own"),
    (
        "UPDATE inventory_held SET person_id = (SELECT min(id) FROM inventory_person)",
        "hands are the badges' own",
    ),
    ("UPDATE inventory_device SET high_water = high_water + 1", "devices' numbers and gaps"),
    (
        (
            "INSERT INTO inventory_devicegap (device_id, first, last) SELECT id, 1, 1"
            " FROM inventory_device"
        ),
        "devices' numbers and gaps",
    ),
    (
        "DELETE FROM inventory_movement WHERE id = (SELECT max(id) FROM inventory_movement)",
        "what was undone is put back",
    ),
    ("UPDATE inventory_recordmark SET root = 'ab'", "record marks"),
    ("DELETE FROM inventory_recordmark", "record marks"),
    ("UPDATE inventory_outcome SET line = replace(line, 'received', 'lost')", "record marks"),
    (
        "UPDATE inventory_movement SET quantity = quantity + 1 WHERE unit_id IS NULL",
        "holdings are the sums",
    ),
    ("UPDATE inventory_holding SET quantity = quantity + 1 WHERE outside", "holdings are the sums"),
    ("DELETE FROM inventory_holding", "holdings are the sums"),
    (
        "UPDATE inventory_holding SET outside = NOT outside WHERE quantity >= 0",
        "holdings are the sums",
    ),
    (
        (
            "UPDATE inventory_movement SET from_place_id = (SELECT id FROM inventory_place"
            " WHERE code = 'VAN1') WHERE unit_id IS NOT NULL"
        ),
        "movements follow one another",
    ),
    ("UPDATE inventory_unit SET place_id = NULL", "units stand where they went"),
    (
        "UPDATE inventory_place SET parent_id = NULL WHERE kind = 'carton'",
        "containers stand where they went",
    ),
    ("UPDATE inventory_place SET parent_id = id WHERE code = 'VAN1'", "the tree of places"),
    ("DELETE FROM inventory_kept", "kept from the first count"),
    ("DELETE FROM inventory_reversal", "what was undone is put back"),
]


def breaches() -> dict[str, tuple[str, ...]]:
    return {done.name: done.problems for done in audit.run() if done.problems}


def run_sql(statement: str) -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # Foreign keys are looked at now, or the tables could not be altered for the guard.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        guard.remove(connection)
        cursor.execute(statement)
        guard.install(connection)


def test_every_check_reads_and_holds(filled: Firm) -> None:
    """With a row of everything there, each check has read rows and found nothing."""
    finished = audit.run()

    assert [done for done in finished if done.problems] == []
    lower = finished[:17]
    assert [done.name for done in lower if not done.read] == []
    assert {done.name: done.read for done in lower}["event lines are what came"] == 21


@pytest.mark.parametrize(("statement", "name"), TAMPERED, ids=range(len(TAMPERED)))
def test_a_change_behind_its_back_is_told(filled: Firm, statement: str, name: str) -> None:
    """The check that guards this law names it."""
    run_sql(statement)

    assert name in breaches()


def test_a_check_that_reads_nothing_while_there_are_rows_is_a_breach(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A query gone wrong must not pass for a clean ledger."""
    shop.wanda.scan("receive", element_string("A1"), target="DOCK")
    idle = Check("idle", Event, Report)
    monkeypatch.setattr(audit, "_MORE", [idle])

    assert breaches() == {"idle": ("read nothing, though there are rows of Event",)}


def test_a_check_that_falls_over_is_a_breach(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told by its name; the others run on."""

    def fall_over() -> Report:
        Place.objects.get(code="NOWHERE")
        return Report()

    monkeypatch.setattr(audit, "_MORE", [Check("broken", Event, fall_over)])

    assert list(breaches()) == ["broken"]


def test_the_side_tables_are_written_anew(filled: Firm) -> None:
    """`--rebuild` gives the state that was, to the letter of the digest."""
    filled.wanda.seq += 3
    filled.wanda.scan("receive", "09521234000020", target="DOCK")
    assert Unit.objects.exclude(place=None).exists()
    assert Place.objects.filter(kind="carton").exclude(parent=None).exists()
    before, rows = digest.digest(), list(digest.state())
    Holding.objects.all().delete()
    Unit.objects.update(place=None)
    Place.objects.filter(kind="carton").update(parent=None)
    filled.wanda.device.gaps.all().delete()
    spoilt = digest.digest()
    call_command("audit", "--rebuild", stdout=StringIO())

    assert spoilt != before
    assert list(digest.state()) == rows
    assert breaches() == {}


def test_the_command_prints_rows_and_fails_on_a_breach(shop: Firm) -> None:
    """Rows read and a word per check; on a breach exit 1 and the reason."""
    shop.wanda.scan("receive", element_string("A1"), target="DOCK")
    good = StringIO()
    call_command("audit", stdout=good)
    Unit.objects.update(place=None)
    report = StringIO()
    with pytest.raises(CommandError, match="units stand where they went: unit"):
        call_command("audit", "--json", stdout=report)

    assert "       1 read  holds   units stand where they went" in good.getvalue()
    found = {check["name"]: check for check in json.loads(report.getvalue())["checks"]}
    assert found["units stand where they went"]["read"] == 1
    assert found["units stand where they went"]["problems"]


def test_the_digest_knows_neither_order_nor_row_ids(shop: Firm) -> None:
    """The same lines taken by another database, in another transaction cut, give the same state."""
    lines = [
        shop.wanda.line("receive", element_string("A1"), target="DOCK"),
        shop.wanda.line("receive", "09521234000020", target="DOCK", quantity=9),
        shop.wanda.line("put", element_string("A1"), target="BIN1"),
    ]
    with transaction.atomic():
        shop.wanda.send(*lines)
        first = digest.digest()
        transaction.set_rollback(True)
    shop.wanda.send(lines[0])
    half = digest.digest()
    shop.wanda.send(*lines)  # the first is known already

    assert half != first
    assert digest.digest() == first


def test_the_digest_is_printed_alone(shop: Firm) -> None:
    """64 hexadecimal digits, with --json in an object."""
    plain, asked = StringIO(), StringIO()
    call_command("audit", "--digest", stdout=plain)
    call_command("audit", "--digest", "--json", stdout=asked)

    assert json.loads(asked.getvalue()) == {"digest": plain.getvalue().strip()}
    assert len(plain.getvalue().strip()) == 64


def test_each_section_of_the_digest_counts(filled: Firm) -> None:
    """A state without rows in a section is another state; every section had rows here."""
    filled.wanda.seq += 3
    filled.wanda.scan("receive", "09521234000020", target="DOCK")
    sections: dict[str, int] = {}
    for line in digest.state():
        if line.startswith("# "):
            name = line
            sections[name] = 0
        else:
            sections[name] += 1

    own = [f"# {name}" for name in digest._OWN]
    assert [name for name in own if not sections[name] and name != "# labels"] == []


@pytest.mark.sqlite_only
def test_no_statement_carries_a_number_for_each_event(shop: Firm) -> None:
    """A database takes so many values in one statement (PostgreSQL 65,535): years hold more."""
    for number in range(140):
        text = element_string(f"S{number}")
        shop.wanda.scan("receive", text, kind="seen", target="DOCK")
    assert Unit.objects.exclude(place=None).count() > 100
    connection.ensure_connection()
    limit = sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER
    before = connection.connection.setlimit(limit, 100)
    try:
        assert [one.problems for one in audit.run() if one.problems] == []
        audit.rebuild()
    finally:
        connection.connection.setlimit(limit, before)
