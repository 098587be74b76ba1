"""Pages of files brought in: seen before written, part by part, with every fault at its row."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inventory.digest import digest
from inventory.models import BroughtFile, Event
from inventory.views import bringing
from tests.firm import Firm
from tests.inventory.test_bringing import STOCK, book, rows_of_units, sound
from tests.inventory.test_bringing_parts import short_parts


def sent(shop: Firm, client: Client, text: str, kind: str = "stock", **more: Any) -> str:
    """Upload a file as the manager; return the address that it leads to."""
    client.force_login(shop.mona.person)
    file = SimpleUploadedFile("a.csv", text.encode(), "text/csv")
    answer = client.post("/bring-in/", {"kind": kind, "file": file, **more})
    return str(answer["Location"]) if answer.status_code == 302 else answer.content.decode()


def test_the_page_shows_every_row_before_anything_is_written(shop: Firm, client: Client) -> None:
    """Look, confirm, done; a plan that is another one by now is shown anew, nothing is written."""
    before = digest()
    address = sent(shop, client, STOCK)
    page = client.get(address).content.decode()
    plan = re.search(r'name="plan" value="([0-9a-f]{64})"', page)
    assert plan is not None
    assert "4 rows, none written yet" in page
    assert "Row 4: MOD 0007 at Bin 3" in page
    assert digest() == before
    shop.wanda.scan("count", "BRA", target="BIN1", quantity=3)
    changed = digest()

    client.post(address, {"plan": plan[1], "change": "yes"})
    page = client.get(address).content.decode()
    assert "has changed since you looked" in page
    assert "<td>3</td><td><strong>12</strong></td>" in page
    assert digest() == changed
    again = re.search(r'name="plan" value="([0-9a-f]{64})"', page)
    assert again is not None
    client.post(address, {"plan": again[1]})
    assert "allow it first" in client.get(address).content.decode()
    assert digest() == changed
    client.post(address, {"plan": again[1], "change": "yes"})

    assert "F1: brought in" in client.get(address).content.decode()
    assert (book()["BIN1", "BRA", ""], BroughtFile.objects.get().state) == (12, "brought in")
    assert "does not come in twice" in client.get(sent(shop, client, STOCK)).content.decode()
    assert sound()


def test_the_page_says_no_with_row_and_column(shop: Firm, client: Client) -> None:
    """Faults in a table, no way to write; a file too large or of no kind is refused at once."""
    wrong = sent(shop, client, "place;item;quantity\nBIN1;BRA;many\n")
    page = client.get(wrong).content.decode()
    assert "<td><strong>Row&nbsp;2</strong></td><td>C, quantity</td>" in page
    assert 'name="plan"' not in page
    assert (
        "expected one of place"
        in client.get(sent(shop, client, "place;odd\n1;2\n")).content.decode()
    )
    assert "cannot be read" in client.get(sent(shop, client, "odd\n1\n")).content.decode()
    assert "at most 20000000 bytes, got 20000001" in sent(shop, client, "x" * 20_000_001)
    assert "expected one of the list" in sent(shop, client, STOCK, kind="moons")
    for _ in range(9):
        sent(shop, client, STOCK)
    assert BroughtFile.objects.count() == 5
    assert not Event.objects.filter(step="bring_in").exists()


def test_a_file_goes_on_by_itself_or_is_taken_back_from_the_page(
    shop: Firm, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One slice of work in a request; what is begun can be finished or taken back, by managers."""
    short_parts(monkeypatch)
    monkeypatch.setattr(bringing, "SLICE", 0)
    address = sent(shop, client, rows_of_units(50))
    plan = re.search(r'name="plan" value="([0-9a-f]{64})"', client.get(address).content.decode())
    assert plan is not None
    client.post(address, {"plan": plan[1]})
    page = client.get(address).content.decode()
    assert ("1 of 3 parts, 50 rows in all" in page, "written part by part" in page) == (True, True)
    assert f'hx-post="{address}" hx-trigger="load delay:100ms, submit"' in page
    part = client.post(address, {"go_on": "yes"}, headers={"HX-Request": "true"})
    assert (part.status_code, "2 of 3 parts" in part.content.decode()) == (200, True)
    client.post(address, {"take_back": "yes"})
    assert "F1: taken back" in client.get(address).content.decode()
    assert book() == {}
    assert sound()
