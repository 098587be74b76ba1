"""Tables handed out: no spreadsheet runs a text of them, and brought in again they change nothing.

The files are read by readers that are not ours: Python's csv (RFC 4180) and python-calamine.
"""

from __future__ import annotations

import csv
import json
import tracemalloc
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
import python_calamine
from django.core.management import CommandError, call_command
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory import catalogue, deliveries, handing_out
from inventory.bringing import looking, running
from inventory.bringing.kinds import KINDS
from inventory.codes.errors import CodeError
from inventory.codes.serials import key
from inventory.digest import digest
from inventory.incoming import texts
from inventory.incoming.reading import Choices
from inventory.models import Item, Lot, Person, Place, Unit
from inventory.serial_lists import Row
from inventory.tables_out import serial_of
from inventory.workbooks import BOM, Sheet, text_lines, workbook
from tests.counts import counts
from tests.firm import Firm, build
from tests.inventory.test_stock_on import PAYLOADS

# OWASP, "CSV injection": what a cell must not begin with, also after a quotation mark that closes.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "\uff1d", " ", "\u200b", "\ufeff", ";")
AWKWARD = [
    "0007", "000000000000001", "1E14", "9E5", "123456789012345678", "=1+1", "+5", "-7", "@A1",
    "|x", "'=1", "'A", '"Q"', 'A"B', "A;B", "A,B", "A B", "A\xa0C", "sep=;", "_x0041_", "N_x000D_7",
    "TRUE", "2026-11-25", "1/2", "a", "Z" * 90,
]  # fmt: skip


LEAVES = ("items", "codes", "labels", "suppliers", "places", "stock")
CONTROLS = dict.fromkeys([*range(32), 0xFEFF, 0x200B], " ")


def handed(kind: str, file: Path, *more: str) -> dict[str, Any]:
    out = StringIO()
    call_command("hand_out", kind, str(file), "--json", *more, stdout=out)
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


def cells(file: Path, mark: str = ",") -> list[list[Any]]:
    """All cells as a reader of somebody else's has them."""
    if file.suffix == ".csv":
        with file.open(encoding="utf-8-sig", newline="") as opened:
            return list(csv.reader(opened, delimiter=mark, strict=True))
    book = python_calamine.CalamineWorkbook.from_path(str(file))
    return book.get_sheet_by_index(0).to_python()


def states(kind: str, file: Path, **choices: str) -> set[str]:
    """What bring_in finds in each row."""
    seen = looking.look(KINDS[kind], file.read_bytes(), file.name, Choices(**choices), None)
    assert list(map(str, seen.faults)) == []
    return {one.state for one in seen.found}


def legal(serial: str) -> bool:
    try:
        key(serial)
    except CodeError:
        return False
    return True


@given(
    st.lists(
        st.text(st.sampled_from([*map(chr, range(32, 127)), "\xa0"]), max_size=90).filter(legal),
        min_size=1,
        max_size=40,
    )
)
@settings(max_examples=counts(15, 300), deadline=None)
def test_any_serial_is_the_same_text_again(serials: list[str]) -> None:
    """Byte for byte in CSV with each mark, and in XLSX as a text cell."""
    sent = [serial_of(serial) for serial in [*serials, *AWKWARD]]
    rows = [["serial", "box"], *([serial, 7] for serial in sent)]
    for mark in texts.MARKS:
        table = texts.read(BOM + "".join(text_lines(rows, mark)).encode(), {"serial", "box"})
        assert sent == [row.cells[0] for row in table.rows]
    book = python_calamine.CalamineWorkbook.from_filelike(BytesIO(workbook([Sheet("S", rows)])))
    assert [[serial, 7.0] for serial in sent] == book.get_sheet_by_index(0).to_python()[1:]


def filled(shop: Firm) -> None:
    """Payloads as names, serials of every sort, quantities counted and not, packs, lists."""
    for number, text in enumerate(PAYLOADS):
        Item.objects.create(code=f"P{number}", name=text, tracking="tool", cost=1250 + number)
        deliveries.enter_partner(code=f"P{number}", name=text, kind="supplier")
    Item.objects.create(code="=B", name="two  blanks", tracking="count")
    Place.objects.create(kind="bin", code="BIN4", name="BIN 1 ", parent=shop.dock)
    Place.objects.create(kind="bin", code="BIN5", name="=BIN1", parent=shop.bins[0].parent)
    Place.objects.create(kind="bin", code="BIN6", name="bin 3", parent=shop.dock)
    lot = Lot.objects.create(item=shop.module)
    for serial in AWKWARD:
        Unit.objects.create(
            item=shop.module, lot=lot, serial=f"{serial} ", serial_key=key(serial), place=shop.dock
        )
    catalogue.add_labels(
        [(shop.module, "XM{serial:d8}", "Code128"), (shop.module, "{serial:a1d6}", "")]
    )
    shop.wanda.scan("receive", "09521234000020", target="BIN1", quantity=9)
    shop.wanda.scan("count", "09521234000020", target="BIN2", quantity=12)
    shop.wanda.scan("count", "09521234000020", target="BIN3", quantity=1)
    shop.wanda.scan("put", "09521234000020", start="BIN3", target="VAN1", quantity=1)
    shop.wanda.scan("make_piece", "09521234000020", target="BIN2", kind="opened", quantity=4)
    supplier = deliveries.enter_partner(code="S1", name="S", kind="supplier")
    note = deliveries.enter(
        shop.mona.person, note="N-1", supplier=supplier, carrier=None, dock=shop.dock, boxes=1
    )
    deliveries.enter_list(note, [Row(shop.module, s, key(s), "BX-1") for s in AWKWARD])


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_what_is_handed_out_and_brought_in_again_changes_nothing(
    shop: Firm, tmp_path: Path, ending: str
) -> None:
    """Each kind, row by row the same; no cell of it begins as a formula would."""
    filled(shop)
    before = digest()
    for kind in ("items", "codes", "labels", "suppliers", "places", "stock", "serials"):
        file = tmp_path / f"{kind}.{ending}"
        told = handed(kind, file)
        head, *rows = cells(file)

        assert [column.name for column in KINDS[kind].headings()] == head
        assert (told["rows"], told["left out"]) == (len(rows), "")
        assert states(kind, file) == {"same"}, kind
        if ending == "csv":
            assert [c for row in rows for c in row if c.startswith(STARTS)] == []
    assert digest() == before
    head, *rows = cells(tmp_path / f"stock.{ending}")
    shown = [dict(zip(head, row, strict=False)) for row in rows]
    serials = [row["serial"] for row in shown if row["serial"]]
    plain = [texts.unescaped(one) if ending == "csv" else one for one in serials]
    assert sorted(AWKWARD) == sorted(plain)
    counted = {
        (row["place"], row["batch"] != "", row["counted"]): int(row["quantity"])
        for row in shown
        if row["item"] == "BRA"
    }
    assert counted == {
        ("Bin 1", False, "no"): 9,
        ("Bin 2", False, ""): 8,
        ("Bin 2", True, ""): 4,
        ("BIN3", False, ""): 0,
        ("Van 1", False, "no"): 1,
    }


def test_an_empty_firm_has_the_same_tables_after_they_came_in(db: None, tmp_path: Path) -> None:
    """Items, codes, suppliers, places and counted stock; the serials byte for byte."""
    with transaction.atomic():
        shop = build()
        catalogue.add_labels([(shop.module, "XM{serial:d8}", "QR")])
        for number, text in enumerate(PAYLOADS):
            kept = text.translate(CONTROLS).strip() or "-"
            deliveries.enter_partner(code=f"P{number}", name=kept, kind="supplier")
        lot = Lot.objects.create(item=shop.module)
        for serial in AWKWARD:
            Unit.objects.create(
                item=shop.module, lot=lot, serial=serial, serial_key=key(serial), place=shop.dock
            )
        shop.wanda.scan("count", "09521234000020", target="BIN2", quantity=12)
        first = [handed_text(kind, tmp_path) for kind in LEAVES]
        transaction.set_rollback(True)
    assert not Unit.objects.exists()
    mona = Person.objects.create_user("mona", name="Mona", roles=["manager"])

    for kind in LEAVES:
        file = tmp_path / f"{kind}.csv"
        seen = looking.look(KINDS[kind], file.read_bytes(), file.name, Choices(), mona)
        assert list(map(str, seen.faults)) == []
        begun = running.keep(KINDS[kind], file.name, Choices(), file.read_bytes(), mona)
        running.go_on(running.begin(begun, seen, change=False), mona)

    assert first == [handed_text(kind, tmp_path) for kind in LEAVES]
    assert sorted(AWKWARD) == sorted(Unit.objects.values_list("serial", flat=True))


def handed_text(kind: str, folder: Path) -> list[str]:
    """The rows, in the order of their words: the first of two is as it happens the older row."""
    handed(kind, folder / f"{kind}.csv")
    return sorted((folder / f"{kind}.csv").read_text(encoding="utf-8-sig").splitlines())


def test_marks_of_another_country_and_what_is_refused(shop: Firm, tmp_path: Path) -> None:
    """Semicolons and decimal commas where they are asked for; nothing is written beside that."""
    filled(shop)
    file = tmp_path / "items.csv"
    handed("items", file, "--delimiter", "semicolon", "--decimal", "comma")

    costs = [row[6] for row in cells(file, ";") if row[0] == "P1"]
    assert costs == ["12,51"]
    assert states("items", file) == {"same"}
    kept = file.read_bytes()
    for name, more, words in (
        ("items.ods", [], "expected a name that ends in .csv or .xlsx"),
        ("items.xlsx", ["--decimal", "comma"], "for .csv only"),
        ("items.csv", ["--decimal", "comma"], "a mark between columns that no number has"),
        ("none/items.csv", [], "none/items.csv: .*, got a name in a folder that is not there"),
    ):
        with pytest.raises(CommandError, match=words):
            handed("items", tmp_path / name, *more)
    assert (list(tmp_path.iterdir()), file.read_bytes()) == ([file], kept)


def test_a_long_table_is_not_held_in_memory(
    db: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """10,000 rows, 0.8 MB as text, are written while less than 0.4 MB is held."""

    def rows(left: handing_out.LeftOut) -> Any:
        for number in range(10_000):
            yield {"delivery": "D1", "item": "MOD", "serial": f"{number:060}", "box": None}

    monkeypatch.setitem(handing_out._ROWS, "serials", rows)
    tracemalloc.start()
    found = handing_out.hand_out("serials", tmp_path / "a.csv")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (found.rows, peak < 400_000) == (10_000, True)
    assert (tmp_path / "a.csv").stat().st_size > 700_000
