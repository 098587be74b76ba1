"""The chain of a thing: every event in its order, each step beginning where the last one ended."""

import json
import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Movement, guard
from inventory.tracing import chain
from tests.firm import Firm, element_string

MODULE, BRACKETS = element_string("A1"), "09521234000020"


def steps(text: str) -> list[tuple[str, str, str]]:
    """Step, from and to of each link."""
    return [(link.step, link.start, link.to) for link in chain(text).links]


def travelled(shop: Firm) -> None:
    """A1 comes in a box, rides in it to the van and back, is taken out and put on a shelf."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    shop.wanda.scan("put", "BOX-1", target="VAN1")
    shop.wanda.scan("put", "BOX-1", target="BIN2")
    shop.wanda.scan("put", MODULE, target="BIN1")
    shop.wanda.scan("put", "BOX-1", target="VAN1")  # without it


def test_the_chain_follows_the_boxes_it_lay_in(shop: Firm) -> None:
    """Moves of the box count while the unit lay in it, not after."""
    travelled(shop)

    assert steps("A1") == [
        ("receive", "Supplier", "Box of Module"),
        ("put", "Dock", "Van 1"),
        ("put", "Van 1", "Bin 2"),
        ("put", "Box of Module", "Bin 1"),
    ]
    found = chain(MODULE)
    assert (found.kind, found.name, found.evidence) == ("unit", "Module A1", "on the box")
    assert found.stands == ("Bin 1", "Depot")
    assert found.breaks == ()
    assert found.links[1].inside == "Box of Module"
    assert found.links[0].who == "Wanda"
    assert found.links[0].evidence == "BOX-1 (scanned)"


def test_what_was_told_by_telephone_and_where_its_photo_was_taken(shop: Firm) -> None:
    """How it was known says both; most events have neither."""
    travelled(shop)
    photo = {"photo": "a" * 64, "taken": "2026-11-25T07:05:00+01:00", "spot": "geo:52.5,13.4;u=20"}
    shop.wanda.scan("put", MODULE, target="BIN2", via="told", **photo)

    told = "(told by telephone), photo of 2026-11-25 06:05 UTC, geo:52.5,13.4;u=20"
    assert chain(MODULE).links[-1].evidence == f"{MODULE} {told}"


def test_a_box_in_a_parcel_is_followed_too(shop: Firm) -> None:
    """What the box stood in moved it as well."""
    from inventory.models import Place

    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    Place.objects.create(kind="parcel", code="PAR1", name="Parcel 1", parent=shop.dock)
    shop.wanda.scan("put", "BOX-1", target="PAR1")
    shop.wanda.scan("put", "PAR1", target="VAN1")

    assert steps("A1")[1:] == [("put", "Dock", "Parcel 1"), ("put", "Dock", "Van 1")]
    assert chain("A1").stands == ("Box of Module", "Parcel 1", "Van 1")


def test_what_moved_nothing_is_in_the_chain_too(shop: Firm) -> None:
    """Seen again, stopped, set aside, undone: with the sentence that was said."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("set_aside", MODULE, reason="dented", at="2099-01-01T00:00:00Z")
    event = shop.wanda.scan("put", MODULE, target="BIN1").id
    shop.wanda.scan("undo", reverses=event)
    found = chain("A1")

    assert [(link.step, link.verdict) for link in found.links] == [
        ("receive", "applied"),
        ("receive", "noted"),
        ("set_aside", "applied"),
        ("put", "applied"),
        ("undo", "applied"),
    ]
    assert [link.undone for link in found.links] == [False, False, False, True, False]
    assert [link.clock_off for link in found.links] == [False, False, True, False, False]
    assert found.holds == ("dented",)
    assert found.stands == ("Dock", "Depot")


def test_a_broken_chain_is_told(shop: Firm) -> None:
    """Somebody changed a row behind the ledger's back: the step does not begin where it should."""
    travelled(shop)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        guard.remove(connection)
        last = Movement.objects.order_by("-pk").first()
        cursor.execute(
            "UPDATE inventory_movement SET from_place_id = %s WHERE id = %s",
            [shop.van.pk, last.pk if last else 0],
        )
        guard.install(connection)

    assert chain("A1").breaks == ("8: left Van 1, stood at Box of Module",)


def test_a_shared_code_has_the_chain_of_its_item(shop: Firm) -> None:
    """Quantities with their places, and its problems."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=4)
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=5)
    found = chain(BRACKETS)

    assert [(link.quantity, link.start, link.to) for link in found.links] == [
        (4, "Elsewhere", "Bin 1"),
        (4, "Bin 1", "Van 1"),
        (1, "Unexplained", "Van 1"),
    ]
    assert found.findings == ("Count Bracket at Bin 1: the book had 4, the hand took 5.",)


def test_a_batch_has_its_own_chain(shop: Firm) -> None:
    """Only this batch of the item."""
    for lot in ("LOT7", "LOT8"):
        shop.wanda.scan("receive", f"]C1010952123400003710{lot}", target="DOCK", quantity=300000)
    found = chain("]C1010952123400003710LOT8")

    assert (found.kind, found.name) == ("lot", "Sealant, batch LOT8")
    assert [(link.quantity, link.to) for link in found.links] == [(300000, "Dock")]


def test_a_place_tells_what_came_and_went(shop: Firm) -> None:
    """Things named, in order."""
    travelled(shop)
    found = chain("BOX-1")

    assert [(link.thing, link.to) for link in found.links] == [
        ("Module A1", "Box of Module"),
        ("Box of Module", "Dock"),
        ("Box of Module", "Van 1"),
        ("Box of Module", "Bin 2"),
        ("Module A1", "Bin 1"),
        ("Box of Module", "Van 1"),
    ]


def test_a_code_that_means_nothing_has_its_scans(shop: Firm) -> None:
    """Who scanned it where: the office finds out what it is."""
    shop.wanda.scan("put", "WHAT-1", target="BIN1")

    assert [(link.step, link.verdict) for link in chain("WHAT-1").links] == [("put", "problem")]


def test_the_command_tells_the_chain(shop: Firm) -> None:
    """In lines for people, in one object for programs; an unknown code is refused."""
    travelled(shop)
    told, asked = StringIO(), StringIO()
    call_command("trace", "A1", stdout=told)
    call_command("trace", "A1", "--json", stdout=asked)

    lines = told.getvalue().splitlines()
    assert lines[:2] == ["Module A1 (on the box)", "stands: Bin 1, in Depot"]
    assert "Wanda  put  Box of Module: Dock -> Van 1  (with all that is in it)" in lines[3]
    assert [link["to"] for link in json.loads(asked.getvalue())["links"]] == [
        "Box of Module",
        "Van 1",
        "Bin 2",
        "Bin 1",
    ]
    with pytest.raises(CommandError, match="code: expected a code that is known here or was scann"):
        call_command("trace", "NEVER-SEEN")


def test_the_chain_costs_the_same_however_much_else_there_is(shop: Firm) -> None:
    """Each statement goes by an index: none reads a whole table that grows with the firm."""
    travelled(shop)
    with CaptureQueriesContext(connection) as few:
        chain("A1")
    for serial in range(30):
        shop.wanda.scan("receive", element_string(f"X{serial}"), target="DOCK")
    with CaptureQueriesContext(connection) as many:
        chain("A1")

    assert len(many) == len(few) <= 25
    for query in many:
        if query["sql"].startswith("SELECT"):
            assert whole_tables(query["sql"]) == []


def whole_tables(statement: str) -> list[str]:
    """The lines of the plan that read a growing table from end to end."""
    growing = "event|outcome|scan|movement|containermove|unit|finding|holding"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL enable_seqscan = off")  # small tables are read whole
            cursor.execute(f"EXPLAIN {statement}")
            plan = [str(row[0]) for row in cursor.fetchall()]
        else:
            cursor.execute(f"EXPLAIN QUERY PLAN {statement}")
            plan = [str(row[3]) for row in cursor.fetchall()]
    return [row for row in plan if re.search(rf"\bS(CAN|eq Scan on) inventory_({growing})\b", row)]


def test_the_search_for_whole_tables_finds_one(shop: Firm) -> None:
    """A question that no index answers is told."""
    assert whole_tables("SELECT * FROM inventory_event WHERE line = 'x'")
