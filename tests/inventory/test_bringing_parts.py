"""A file part by part: cut short, gone on with, taken back whole; only what was looked at."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from inventory.bringing import running
from inventory.bringing.kinds import KINDS
from inventory.bringing.running import CannotBringIn, Changed
from inventory.digest import digest
from inventory.incoming.reading import Choices
from inventory.models import (
    Event,
    Kept,
    Unit,
)
from inventory.rows import found
from tests.firm import Firm
from tests.inventory.recalls import freeze, held, letter
from tests.inventory.test_bringing import STOCK, begun, book, bring, look, rows_of_units, sound


def short_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts of 20 rows, so that a file of fifty has three."""
    monkeypatch.setitem(KINDS, "stock", replace(KINDS["stock"], at_once=20))


def test_a_file_cut_short_goes_on_and_ends_as_if_unbroken(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped after its first part, that part sent again, then gone on with: the same digest."""
    short_parts(monkeypatch)
    file = begun(shop, "stock", rows_of_units(50))
    with transaction.atomic():
        running.go_on(file, shop.mona.person)
        unbroken = digest()
        transaction.set_rollback(True)
    file.refresh_from_db()

    running.go_on(file, shop.mona.person, seconds=0)
    sent = Event.objects.get(step="bring_in")
    assert (file.state, file.parts.filter(event=None).count()) == ("begun, not finished", 2)
    assert look("stock", rows_of_units(50)).before == file
    assert digest() != unbroken
    assert shop.mona.send(sent.line)[0].duplicate
    running.go_on(file, shop.mona.person)

    assert (file.state, digest()) == ("brought in", unbroken)
    assert sound()


def test_what_is_moved_between_two_parts_counts_beside_what_the_file_says(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counted 12 and 5, cut short after the first; 2 moved and 3 came before it went on: 10, 10.

    SQLite does not ask that by batch: a part would walk all that the parts before it have moved.
    """
    monkeypatch.setitem(KINDS, "stock", replace(KINDS["stock"], at_once=1))
    file = begun(shop, "stock", "place,item,quantity\nBIN1,BRA,12\nBIN2,BRA,5\n")
    running.go_on(file, shop.mona.person, seconds=0)
    shop.wanda.scan("put", "BRA", start="BIN1", target="BIN2", quantity=2)
    shop.wanda.scan("receive", "09521234000020", target="BIN2", quantity=3)
    with CaptureQueriesContext(connection) as asked:
        assert running.go_on(file, shop.mona.person).state == "brought in"

    assert book() == {("BIN1", "BRA", ""): 10, ("BIN2", "BRA", ""): 10}
    assert sound()
    if connection.vendor == "sqlite":
        since = [one["sql"] for one in asked if 'AS "from_place"' in one["sql"]]
        plan = str(found(f"EXPLAIN QUERY PLAN {since[0]}", []))
        assert ("by_lot" in plan, "event_id=?" in plan) == (False, True)


def test_what_a_part_meets_takes_the_whole_file_back(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A unit received while the file came in: all of it is undone, and said; nothing stays."""
    short_parts(monkeypatch)
    file = begun(shop, "stock", rows_of_units(50))
    running.go_on(file, shop.mona.person, seconds=0)
    shop.wanda.scan("receive", "BOX-1", target="DOCK")
    taken = Unit.objects.create(
        item=shop.module,
        lot=Unit.objects.first().lot,  # type: ignore[union-attr]
        serial="U-0045",
        serial_key="U-0045",
    )
    label = "]C10109521234000013" + "21U-0045"
    assert shop.wanda.scan("receive", label, target="DOCK").verdict == "applied"

    with pytest.raises(CannotBringIn, match=r"taken back whole. Part 3: .*U-0045 stands at Dock"):
        running.go_on(file, shop.mona.person)

    assert book() == {("DOCK", "MOD", ""): 1}
    taken.refresh_from_db()
    file.refresh_from_db()
    assert (taken.place, file.state) == (shop.dock, "taken back")
    assert Event.objects.filter(step="bring_in").exclude(reversed_by=None).count() == 2
    assert sound()
    # Put right, the same rows come in: what was taken back stands nowhere.
    assert bring(shop, "stock", rows_of_units(40)).state == "brought in"
    assert sound()


def test_a_part_is_not_undone_by_itself(shop: Firm) -> None:
    """Nor is it taken a second time, nor under other rows than were judged."""
    file = bring(shop, "stock", STOCK)
    part = file.parts.get()
    assert part.event is not None
    undo = shop.mona.scan("undo", reverses=str(part.event.uid))
    line: dict[str, Any] = {"subject": file.subject, "number": 1}

    assert (undo.verdict, undo.sentence[:10]) == ("stopped", "Take the w")
    assert shop.mona.scan("bring_in", **line, reason=part.sha256).verdict == "noted"
    assert shop.wanda.scan("bring_in", **line, reason=part.sha256).verdict == "refused"
    assert shop.mona.scan("bring_in", subject="file:F99", number=1).verdict == "refused"
    assert sound()


def test_what_changed_between_look_and_write_is_refused_and_nothing_is_written(shop: Firm) -> None:
    """The plan that a person confirms names file and rows; another state gives another plan."""
    seen = look("stock", STOCK)
    mona = shop.mona.person
    file = running.keep(KINDS["stock"], "a.csv", Choices(), STOCK.encode(), mona)
    shop.wanda.scan("count", "BRA", target="BIN1", quantity=3)
    before = digest()

    with pytest.raises(Changed, match="has changed since you looked"):
        running.confirm(file, seen.plan, mona, change=True)
    other = running.keep(KINDS["stock"], "a.csv", Choices(), STOCK.encode() + b"\n\n", mona)
    with pytest.raises(Changed):
        running.confirm(other, look("stock", STOCK).plan, mona, change=True)

    assert digest() == before
    assert running.confirm(file, look("stock", STOCK).plan, mona, change=True).rows == 4


def test_what_is_taken_back_stays_recalled_and_kept_by_a_later_count(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Holds stay on what stands nowhere; a later count by hand keeps what the file's count began.

    Counted otherwise since, the bin stops the taking back until it is as the file had it.
    """
    short_parts(monkeypatch)
    freeze(shop.mona, letter(shop.mona, "model MOD; prefix U-001\n"))
    text = "place;item;serial;quantity\nBIN1;BRA;;5\n" + rows_of_units(50).partition("\n")[2]
    file = begun(shop, "stock", text)
    running.go_on(file, shop.mona.person, seconds=0)
    aside = held(shop)
    shop.wanda.scan("count", "BRA", target="BIN1", quantity=4)
    with pytest.raises(CannotBringIn, match="part 1 stays for now: BRA: 5 asked for at Bin 1"):
        running.take_back(file, shop.mona.person, "Wrong file.")
    shop.wanda.scan("count", "BRA", target="BIN1", quantity=5)
    again = shop.wanda.scan("count", "BRA", target="BIN1", quantity=5)
    running.take_back(file, shop.mona.person, "Wrong file.")

    assert (file.state, book()) == ("taken back", {})
    assert Kept.objects.get(item=shop.bracket).event.number < again.number
    assert aside == held(shop) == [f"U-001{n}" for n in range(9)]
    assert bring(shop, "stock", rows_of_units(50)).state == "brought in"
    assert len(held(shop)) == 10
    assert sound()
