"""Files brought in: all rows judged, all or nothing written, the same again changes nothing."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from inventory import audit, deliveries, placing
from inventory.bringing import looking, running
from inventory.bringing.kinds import KINDS
from inventory.bringing.looking import Look
from inventory.bringing.running import CannotBringIn
from inventory.codes.epcis import faults_of
from inventory.digest import digest
from inventory.epcis_events import document, told
from inventory.incoming.errors import FileRefused
from inventory.incoming.reading import Choices
from inventory.models import (
    Amendment,
    BroughtFile,
    Event,
    Holding,
    Item,
    ItemCode,
    Kept,
    ListedSerial,
    Partner,
    Place,
)
from inventory.scanning import resolve
from tests.firm import NOW, Firm


def look(kind: str, text: str | bytes, name: str = "a.csv", **choices: str) -> Look:
    data = text.encode() if isinstance(text, str) else text
    return looking.look(KINDS[kind], data, name, Choices(**choices), None)


def faults(kind: str, text: str | bytes, name: str = "a.csv", **choices: str) -> list[str]:
    return [str(fault) for fault in look(kind, text, name, **choices).faults]


def begun(shop: Firm, kind: str, text: str, *, change: bool = False) -> BroughtFile:
    seen = look(kind, text)
    file = running.keep(KINDS[kind], "a.csv", Choices(), text.encode(), shop.mona.person)
    return running.begin(file, seen, change=change)


def bring(shop: Firm, kind: str, text: str, *, change: bool = False) -> BroughtFile:
    return running.go_on(begun(shop, kind, text, change=change), shop.mona.person)


def sound() -> bool:
    return [one for one in audit.run() if one.problems] == []


def book() -> dict[tuple[str, str, str], int]:
    rows = Holding.objects.filter(outside=False).exclude(quantity=0)
    names = ("place__code", "lot__item__code", "lot__key", "quantity")
    return {(place, item, lot): n for place, item, lot, n in rows.values_list(*names)}


STOCK = """place;item;quantity;unit;batch;use by;serial;revision
BIN1;BRA;12;;;;;
Bin 2;SEA;1,5;l;L-7;31.03.2027;;
BIN3;MOD;;;;;0007;B
BIN3;MOD;1;;;;0008;
"""


def test_stock_comes_in_by_events_and_the_same_file_changes_nothing(shop: Firm) -> None:
    """Quantities are counts from which on items are kept; serials are units of the place."""
    file = bring(shop, "stock", STOCK)

    assert (file.state, file.rows, file.data) == ("brought in", 4, None)
    assert book() == {
        ("BIN1", "BRA", ""): 12,
        ("BIN2", "SEA", "L-7"): 1_500_000,
        ("BIN3", "MOD", ""): 2,
    }
    unit = shop.unit("0007")
    assert (unit.place.code if unit.place else "", unit.revision, unit.evidence) == (
        "BIN3",
        "B",
        "listed",
    )
    assert set(Kept.objects.values_list("place__code", "item__code")) == {
        ("BIN1", "BRA"),
        ("BIN2", "SEA"),
    }
    assert sound()
    told_outside = list(told(Event.objects.filter(step="bring_in")))
    assert faults_of("".join(document(told_outside, NOW))) == []
    assert [(one["action"], one["bizStep"]) for one in told_outside] == [
        ("OBSERVE", "cycle_counting")
    ] * 3  # one a place
    shop.wanda.scan("put", "0007", target="BIN1")
    before = digest()
    again = look("stock", STOCK)
    assert (again.finished, again.same, again.to_write) == (True, 4, [])
    with pytest.raises(CannotBringIn, match="nothing to do"):
        bring(shop, "stock", STOCK)
    assert digest() == before


def test_another_file_of_the_same_stock_changes_only_what_is_allowed(shop: Firm) -> None:
    """A counted quantity is a change, old -> new; a unit elsewhere is moved by a scan, not here."""
    bring(shop, "stock", STOCK)
    other = "item;place;quantity\nBRA;BIN1;9\n"
    seen = look("stock", other)

    assert [(c.column, c.old, c.new) for one in seen.found for c in one.changes] == [
        ("quantity", "12", "9")
    ]
    with pytest.raises(CannotBringIn, match="1 row would change"):
        bring(shop, "stock", other)
    bring(shop, "stock", other, change=True)
    assert book()["BIN1", "BRA", ""] == 9
    assert faults("stock", "item;place;serial\nMOD;BIN1;0007\n") == [
        (
            "row 2, column B (place): expected it at Bin 3 as the book has it, got Bin 1: "
            "move it by a scan"
        )
    ]
    assert sound()


def test_every_row_is_judged_and_told_with_row_and_column(shop: Firm) -> None:
    """No early stop; spoilt serials are refused by their row."""
    Item.objects.create(code="WIPE", name="Wipe", tracking="supply")
    text = (
        "place,item,quantity,serial,batch\n"
        "NOWHERE,BRA,1,,\n"
        "BIN1,WHAT,1,,\n"
        "BIN2,BRA,-1,,\n"
        "BIN3,BRA,1.250,,\n"
        "BIN1,MOD,,1.23E+14,\n"
        "BIN1,MOD,,1E+12,\n"
        "BIN1,MOD,,12345.0,\n"
        "BIN1,MOD,,,\n"
        "BIN1,MOD,,A1,\n"
        "BIN2,MOD,,A1,\n"
        "DOCK,BRA,1,A2,\n"
        "VAN1,BRA,1,,L-1\n"
        "BIN1,WIPE,1,,\n"
        "BIN1,MOD,2,A3,\n"
    )

    found = faults("stock", text)

    assert [words.split(":")[0] for words in found] == [
        "row 2, column A (place)",
        "row 3, column B (item)",
        "row 4, column C (quantity)",
        "row 5, column C (quantity)",
        "row 6, column D (serial)",
        "row 7, column D (serial)",
        "row 8, column D (serial)",
        "row 9, column D (serial)",
        "row 11",
        "row 12, column D (serial)",
        "row 13, column E (batch)",
        "row 14, column B (item)",
        "row 15, column C (quantity)",
    ]
    assert found[4].endswith("expected the serial as printed, got a number '1.23E+14'")
    assert found[5].endswith("got a number '1E+12'")
    assert found[8].endswith("expected each thing once, got that of row 10 again")
    assert not BroughtFile.objects.exists()
    # One serial in two spellings, and one in letters of another script.
    spelt = "place;item;serial\nBIN1;MOD;AB-1\nBIN2;09521234000013;A B-1\nBIN1;MOD;AB 2\n"
    spelt += "BIN1;MOD;AB2\nBIN1;MOD;\u0410\u04121\n"
    assert [words.partition(",")[0] for words in faults("stock", spelt)] == [
        "row 3: expected each thing once",
        "row 5: expected each thing once",
        "row 6",
    ]


def test_serials_of_a_spreadsheet_are_texts_or_refused(shop: Firm) -> None:
    """A number cell may have lost zeros; lengths show them in a text file too."""
    sheet = openpyxl.Workbook()
    for row in (("place", "item", "serial"), ("BIN1", "MOD", 1234), ("BIN1", "MOD", "001235")):
        sheet.active.append(row)
    out = io.BytesIO()
    sheet.save(out)
    many = "place;item;serial\n" + "".join(f"BIN1;MOD;00{n:04d}\n" for n in range(9))

    assert faults("stock", out.getvalue(), "a.xlsx") == [
        (
            "row 2, column C (serial): expected the serial as text, got a number '1234': zeros in "
            "front or last digits may be lost; format the column as text and enter it again"
        )
    ]
    assert faults("stock", many + "BIN1;MOD;1234\n") == [
        (
            "row 11, column C (serial): expected 6 digits as the others have, got '1234': "
            "zeros in front may be lost"
        )
    ]


def rows_of_units(count: int) -> str:
    return "place;item;serial\n" + "".join(f"BIN1;MOD;U-{n:04d}\n" for n in range(count))


ITEMS = """Artikel,name,followed,grams,cost
SHIM,Shim,count,5,0.12
MOD,Module,serial,32000,
"""


def test_the_catalogue_comes_in_and_changes_are_shown_and_noted(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Items, codes, partners, places: new, the same, changed with who did it, never re-tracked."""
    bring(shop, "items", ITEMS)
    bring(shop, "codes", "item;code;quantity\nSHIM;09521234000044;50\n")
    bring(shop, "suppliers", "code;name\nnorth;North Store\n")
    free = placing.next_code("place")  # somebody printed it already and says so in the last row
    places = (
        f"name;kind;inside;order;code\nHall;depot;;;\nRack 1;bin;Hall;4;\nRack 2;bin;Hall;;{free}\n"
    )
    bring(shop, "places", places)
    assert Place.objects.get(code=free).name == "Rack 2"

    assert Item.objects.get(code="SHIM").cost == 12
    assert ItemCode.objects.get(item__code="SHIM").pack_quantity == 50
    assert Partner.objects.get().name == "North Store"
    rack = Place.objects.get(name="Rack 1")
    assert (rack.parent.name if rack.parent else "", rack.order, rack.code[:3]) == (
        "Hall",
        4,
        "LBB",
    )
    assert [
        look("items", ITEMS).same,
        look("suppliers", "code;name\nnorth;North Store\n").same,
    ] == [
        2,
        1,
    ]
    monkeypatch.setitem(KINDS, "items", replace(KINDS["items"], most_changed=0))
    with pytest.raises(FileRefused, match="at most 0 rows that change what is there, got 1: split"):
        look("items", "code;name\nSHIM;Thin shim\n")
    monkeypatch.undo()
    bring(shop, "items", "code;name\nSHIM;Thin shim\n", change=True)
    noted = Amendment.objects.get()
    assert (noted.about, noted.now["name"], noted.by) == (
        "item:SHIM",
        "Thin shim",
        shop.mona.person,
    )
    assert faults("items", "code;name;followed\nMOD;Module;count\n") == [
        "row 2, column C (followed): expected 'serial', fixed for ever, got 'count'"
    ]
    assert faults("codes", "item;code\nBRA;09521234000044\nBRA;9521234000052\nBRA;1E+12\n") == [
        "row 2, column B (code): expected a text of no other item, got that of SHIM",
        (
            "row 3, column B (code): expected an article number with its check digit, "
            "got '9521234000052'"
        ),
        "row 4, column B (code): expected the code as printed, got a number '1E+12'",
    ]
    assert faults("places", "name;kind;inside\nA;bin;B\nB;bay;\n") == [
        "row 2, column C (inside): expected a place of ours or of a row above, got 'B'"
    ]
    assert sound()


def test_labels_of_makers_come_in(shop: Firm) -> None:
    """A pattern reads its item's serials in its kind of symbol; each fault has its column."""
    labels = "item;pattern;symbol;example\n"
    bring(shop, "labels", f"{labels}MOD;XM{{serial:d8}};code 128;XM00001234\n")
    assert resolve("XM00009999", symbology="Code128").serial == "00009999"
    assert resolve("XM00009999", symbology="QR").kind == "unknown"
    bring(shop, "labels", f"{labels}MOD;XM{{serial:d8}};QR;\n", change=True)
    assert resolve("XM00009999", symbology="QR").serial == "00009999"
    assert faults(
        "labels",
        f"{labels}MOD;X{{serial:q8}};;\nMOD;X{{serial:d8}};;X1\nBRA;X{{serial:d1}};;\n"
        "MOD;X{lot:d8};;\nMOD;Y{serial:d8};Ogham;\nMOD;95{serial:d11};;9520123456788\n",
    ) == [
        (
            "row 2, column B (pattern): label pattern: expected fields such as {serial:d8} and "
            "plain text, got 'X{serial:q8}'"
        ),
        "row 3, column D (example): expected a text that follows X{serial:d8}, got 'X1'",
        "row 4, column B (pattern): expected an item followed by serial or by batch, got BRA",
        (
            "row 5, column B (pattern): expected {serial:...} in the pattern of MOD Module, "
            "got 'X{lot:d8}'"
        ),
        (
            "row 6, column C (symbol): expected a kind of symbol out of Aztec, Code128, Code39, "
            "DataMatrix, EAN13, ITF, PDF417, QR, got 'Ogham'"
        ),
        (
            "row 7, column D (example): expected a text of no known scheme, got '9520123456788', "
            "which is read already"
        ),
    ]


def test_a_corrected_serial_file_names_the_new_box(shop: Firm) -> None:
    """Lines only grow; the latest counts; one without a box leaves it; a long code is refused."""
    supplier = deliveries.enter_partner(code="north", name="North Store", kind="supplier")
    made = deliveries.enter(
        shop.mona.person, note="LS-1", supplier=supplier, carrier=None, dock=shop.dock, boxes=1
    )
    bring(shop, "serials", "delivery;item;serial;box\nLS-1;MOD;S-1;B1\nD1;MOD;S-2;B1\n")
    corrected = "delivery;item;serial;box\nD1;MOD;S-1;B2\nD1;MOD;S-2;\n"
    assert look("serials", corrected).changed == 1
    bring(shop, "serials", corrected, change=True)

    rows = made.listed.current().order_by("key").values_list("key", "box")
    assert list(rows) == [("S-1", "B2"), ("S-2", "B1")]
    assert ListedSerial.objects.count() == 3
    long = "delivery;item;serial;box\nD1;MOD;S-3;" + "x" * 121
    assert faults("serials", long) == [
        "row 2, column D (box): expected a box's code of at most 120 characters, got 121"
    ]


def run(*args: str, capsys: Any) -> dict[str, Any]:
    capsys.readouterr()
    call_command("bring_in", *args, "--json")
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_the_command_looks_then_writes_and_says_no(shop: Firm, tmp_path: Path, capsys: Any) -> None:
    """Without --write nothing changes; exit 1 where a row is wrong or changes what is there."""
    file, wrong = tmp_path / "stock.csv", tmp_path / "wrong.csv"
    file.write_text(STOCK)
    wrong.write_text("place;item;quantity\nBIN1;BRA;many\nBIN2;BRA;3\n")
    before = digest()

    seen = run("stock", str(file), capsys=capsys)
    assert (seen["new"], seen["wrong"], seen["state"], digest()) == (4, 0, "", before)
    with pytest.raises(CommandError, match=r"1 fault\nrow 2, column C \(quantity\): expected a n"):
        call_command("bring_in", "stock", str(wrong), "--write")
    assert digest() == before
    assert run("stock", str(file), "--write", capsys=capsys)["state"] == "brought in"
    assert run("stock", str(file), "--write", capsys=capsys)["same"] == 4
    wrong.write_text("place;item;quantity\nBIN1;BRA;3\n")
    with pytest.raises(CommandError, match="1 row would change what is there; --change"):
        call_command("bring_in", "stock", str(wrong))
    with pytest.raises(CommandError, match="expected a file that was begun"):
        call_command("bring_in", "stock", str(wrong), "--take-back")
