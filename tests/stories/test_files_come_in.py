"""A firm begins with its spreadsheets: each example file comes in, by the command and the page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client

from inventory import audit, deliveries
from inventory.bringing.kinds import KINDS
from inventory.digest import digest
from inventory.models import BroughtFile, Holding, Item, Partner, Place, Unit
from kitting.models import Job, Kit, Site
from kitting.queries import stands_at
from tests.stories import the_firm
from tests.tree import TOP

FILES = TOP / "fixtures" / "files"
ORDER = ("items", "codes", "labels", "suppliers", "places", "stock", "installed", "jobs")


def as_sheet(file: Path, to: Path) -> Path:
    """The same rows as somebody's spreadsheet has them: all cells texts."""
    book = openpyxl.Workbook()
    for line in file.read_text(encoding="utf-8").splitlines():
        book.active.append([cell or None for cell in line.split(";")])
    book.save(to)
    return to


@pytest.mark.django_db
def test_a_firm_s_spreadsheets_come_in(tmp_path: Path, client: Client, capsys: Any) -> None:
    """Catalogue, shelves, walls and jobs stand as written; as spreadsheets nothing new."""
    opened = the_firm.enter()
    mona = opened.people["mona"]
    for kind in ORDER:
        call_command("bring_in", kind, str(FILES / f"{kind}.csv"), "--write", "--decimal", "comma")
    north = Partner.objects.get(code="sedgeley")
    dock = Place.objects.filter(kind="dock").first()
    assert dock is not None
    made = deliveries.enter(mona, note="LS-20500", supplier=north, carrier=None, dock=dock, boxes=2)
    client.force_login(mona)
    file = SimpleUploadedFile("serials.csv", (FILES / "serials.csv").read_bytes())
    address = client.post("/bring-in/", {"kind": "serials", "file": file})["Location"]
    plan = client.get(address).context["preview"].seen.plan
    client.post(address, {"plan": plan})

    assert sorted({*ORDER, "serials"}) == sorted(KINDS)
    assert {file.state for file in BroughtFile.objects.all()} == {"brought in"}
    assert list(made.listed.values_list("serial", "box")) == [
        ("CM26-00911", "BX-77101"),
        ("CM26-00912", "BX-77102"),
    ]
    assert Item.objects.get(code="QS-FOAM").cost_for == 500_000
    assert dict(
        Holding.objects.filter(place__name__in=("K1", "K2")).values_list(
            "lot__item__code", "quantity"
        )
    ) == {"QS-CLIP": 340, "QS-FOAM": 1_500_000, "QS-DUCT": 48_500, "CT-MODULE": 2}
    mill = Site.objects.get(name="House on Mill Rise")
    assert [(row.serial, row.role) for row in stands_at(mill.place)] == [
        ("CM24-00031", "unit"),
        ("CM24-0?032", "unit"),
        ("", "unit"),
        ("CP24-00012", "head"),
    ]
    assert sorted(Job.objects.exclude(brought_by=None).values_list("site__name", flat=True)) == [
        "House on Mill Rise",
        "House on Sexton Row",
    ]
    assert Kit.objects.filter(job__brought_by__isnull=False).count() == 2
    assert Unit.objects.get(serial="CM26-00901").last_charged is not None
    assert [problem for one in audit.run() for problem in one.problems] == []
    before = digest()
    for kind in ORDER:
        sheet = as_sheet(FILES / f"{kind}.csv", tmp_path / f"{kind}.xlsx")
        call_command("bring_in", kind, str(sheet), "--write", "--decimal", "comma")
    assert digest() == before
    assert capsys.readouterr().out.count(" 0 new, 0 changed") == len(ORDER)
    for number, kind in enumerate(KINDS):  # what the page hands out, in turn as CSV and as XLSX
        out = tmp_path / f"out-{kind}.{('csv', 'xlsx')[number % 2]}"
        answer = client.get(f"/hand-out/{kind}.{out.suffix[1:]}")
        assert f'filename="{kind}{out.suffix}"' in answer["Content-Disposition"]
        out.write_bytes(answer.content)
        call_command("bring_in", kind, str(out), "--write", "--decimal", "point")
    assert digest() == before
    assert capsys.readouterr().out.count(" 0 new, 0 changed") == len(KINDS)
    assert client.get("/hand-out/secrets.csv").status_code == 404
