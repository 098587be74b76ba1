"""Wanda prints at the bench without a dialogue; what nobody knows is asked, nothing prints twice.

The queue here is a program named `ipptool` on the path that notes what it was given and answers as
CUPS' own does; tests/inventory/test_print_queue.py asks a real printer.
"""

from __future__ import annotations

import json
import os
import plistlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse

from inventory import label_printing
from inventory.badges import badge_of, person_by_badge
from inventory.codes import commands
from inventory.labels import lesson, wall_sheet
from inventory.labels.label import Label
from inventory.models import Printer, PrintJob, PrintTurn
from kitting import kit_label
from tests.people import Cast, page_of, scene
from tests.reference.printed_labels import Printed
from tests.reference.test_printed_labels import by_zxing, cut, faults

CHARSET = {"attributes-charset": "utf-8"}


class Queue:
    """The program in place of a queue, and what it was given."""

    def __init__(self, folder: Path) -> None:
        self.told, self.answer = folder / "told", folder / "answer"
        program = folder / "ipptool"
        script = f"""#!{sys.executable}
import json, pathlib, sys
words = sys.argv[1:]
kept = {str(self.told)!r}
file = pathlib.Path(words[words.index("-f") + 1]).read_bytes().decode("latin-1")
with open(kept, "a") as out:
    out.write(json.dumps([words, pathlib.Path(words[-1]).read_text(), file]) + "\\n")
sys.stdout.buffer.write(pathlib.Path({str(self.answer)!r}).read_bytes())
"""
        program.write_text(script)
        program.chmod(0o755)

    def says(self, status: str = "successful-ok", **attributes: Any) -> None:
        answer = {"StatusCode": status, "ResponseAttributes": [CHARSET | attributes]}
        self.answer.write_bytes(plistlib.dumps({"Tests": [answer]}))

    def dies(self) -> None:
        self.answer.write_bytes(b"")

    def given(self) -> list[tuple[list[str], str, bytes]]:
        lines = self.told.read_text().splitlines() if self.told.exists() else []
        found = [json.loads(line) for line in lines]
        return [(words, asked, file.encode("latin-1")) for words, asked, file in found]


@pytest.fixture
def queue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Queue:
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    return Queue(tmp_path)


@pytest.fixture(scope="module")
def firm(django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    """One cast for all: what a test does is rolled back above it."""
    with django_db_blocker.unblock(), scene() as found:
        yield found


@pytest.fixture
def cast(firm: Cast, db: None) -> Cast:
    return firm


def texts(file: bytes) -> list[set[str]]:
    """What is read on each page, at the printer's resolution."""
    pages = [page.render(scale=203 / 72).to_pil() for page in pypdfium2.PdfDocument(file)]
    return [{one.text for one in zxingcpp.read_barcodes(page)} for page in pages]


def states() -> list[str]:
    return [str(job.state) for job in label_printing.latest()]


def test_a_kit_is_labelled_with_one_press_and_nothing_comes_out_twice(
    cast: Cast, queue: Queue
) -> None:
    """The press sends a page a label; sent twice it prints once; lost answers wait for a person."""
    wanda, kit = cast.clients["warehouse"], cast.works["technician"].kit
    page = wanda.get(reverse("kit", args=[kit.code])).content.decode()
    inside = kit.packages.exclude(kind="load").order_by("place__code")
    codes = [kit_label.code_of(kit), *inside.values_list("place__code", flat=True)]
    pick = wanda.get(reverse("kit_pick", args=[kit.code])).content.decode()
    bench = Printer.objects.get()
    sent = {"codes": "\n".join(codes), "printer": bench.pk, "back": reverse("kits")}
    sent["once"] = "01930000-0000-7000-8000-000000000001"
    queue.says(**{"job-id": 41})

    assert "Print the labels on Bench 1" in page
    assert f"{reverse('labels')}?codes={'%0A'.join(codes)}" in pick
    for _ in range(2):
        answer = wanda.post(reverse("labels"), sent)
        assert (302, reverse("kits")) == (answer.status_code, answer["Location"])
    [(words, asked, file)] = queue.given()
    assert [{code} for code in codes] == texts(file)
    assert "title=Lastbolt labels" in " ".join(words)
    assert bench.address == words[-2]
    assert "media" not in asked  # the printer knows its roll
    assert states() == ["sent", "None"]

    job = PrintJob.objects.first()
    where = reverse("printing")
    queue.says(**{"job-state": 9, "job-state-reasons": "job-completed-successfully"})
    wanda.post(where, {"job": job.pk, "act": "ask"})
    assert states()[0] == "done"

    # Once more, by a person; the answer is lost, and the same row gives no third.
    queue.dies()
    wanda.post(where, {"job": job.pk, "act": "again"})
    told = wanda.post(where, {"job": job.pk, "act": "again"}, follow=True).content.decode()
    assert "It was printed again already" in told
    assert "nobody knows" in told
    assert states() == ["unclear", "done", "None"]
    assert len(queue.given()) == 3  # printed, asked, printed again
    again = PrintJob.objects.first()
    wanda.post(where, {"job": again.pk, "act": "nothing"})
    wanda.post(where, {"job": again.pk, "act": "out"})
    assert states()[0] == "failed"
    assert again.turns.last().words == "seen at the printer"


def test_a_refusal_of_the_queue_and_a_server_that_died_are_told(cast: Cast, queue: Queue) -> None:
    """The queue's own words stand beside the job; one that was on its way is never sent again."""
    wanda, bench = cast.clients["warehouse"], Printer.objects.get()
    queue.says("client-error-not-found", **{"status-message": "no such queue"})
    sent = {"codes": "BIN1", "printer": bench.pk}
    told = wanda.post(reverse("labels"), sent, follow=True).content.decode()
    assert "Bench 1: not printed (client-error-not-found no such queue)" in told

    queue.says(**{"job-id": 7})
    cut = label_printing.keep(cast.people["warehouse"], bench, ["BIN1"])
    cut.turns.create(state=PrintTurn.State.SENDING)  # and the server died
    assert label_printing.send(cut, b"%PDF").state == PrintTurn.State.SENDING
    assert len(queue.given()) == 1
    page = wanda.get(reverse("printing")).content.decode()
    assert "nobody knows" in page

    # Back is a page of ours, whatever the form says.
    led = wanda.post(reverse("labels"), sent | {"back": "//elsewhere.example/"})
    assert reverse("printing") == led["Location"]

    # A label that cannot be drawn reaches no printer and leaves no job.
    jobs = PrintJob.objects.count()
    refused = wanda.post(reverse("labels"), {"codes": "NO-SUCH", "printer": bench.pk})
    assert "NO-SUCH: expected a code that is known here" in refused.content.decode()
    assert jobs == PrintJob.objects.count()


def test_badges_returns_and_kits_have_labels_that_lead_to_them(cast: Cast) -> None:
    """A badge names who works here and opens nothing; a leaver's names nobody."""
    mona, wanda = cast.clients["manager"], cast.clients["warehouse"]
    tariq, kit = cast.people["technician"], cast.works["technician"].kit
    label = {"form": "png", "dpi": "203"}
    badge = badge_of(tariq)
    picture = mona.post(reverse("labels"), {"codes": badge, **label})

    assert picture["Content-Type"] == "image/png"
    assert "Print the badge" in mona.get(page_of("person_change", "tariq")).content.decode()
    assert badge in mona.get(page_of("person_change", "tariq")).content.decode()
    assert tariq == person_by_badge(badge.lower())
    assert person_by_badge(badge_of(cast.people["leaver"])) is None
    assert person_by_badge("LBU0000077") is None
    # Whoever prints badges says who may have one; nobody signs in with it.
    refused = wanda.post(reverse("labels"), {"codes": badge, **label}).content.decode()
    assert f"{badge}: a badge is printed by a manager, of who works here" in refused
    left = mona.post(reverse("labels"), {"codes": badge_of(cast.people["leaver"]), **label})
    assert "a badge is printed by a manager, of who works here" in left.content.decode()
    signed = {"username": "tariq", "password": badge}
    assert mona.post(reverse("sign_in"), signed).status_code == 200

    own = wanda.get(reverse("return", args=["R1"])).content.decode()
    code = own.partition("codes=LBR")[2][:7]
    pages = {f"LBR{code}": "/returns/R1", kit_label.code_of(kit): f"/kits/{kit.code}"}
    for text, where in pages.items():
        assert wanda.post(reverse("labels"), {"codes": text, **label}).status_code == 200
        assert where in wanda.get(f"{reverse('trace')}?code={text}").content.decode()


def test_the_sheets_of_wall_and_scanner_read_back_as_they_are_handed_out(cast: Cast) -> None:
    """Each command, and both codes of the lesson, by two decoders off the page at 600 dpi.

    The word that a person reads stands beside its own code.
    """
    pyzbar = pytest.importorskip("pyzbar.pyzbar", reason="libzbar0 is missing", exc_type=OSError)
    plain = [
        Printed(Label("command", words, code=commands.text_of(number)), said.encode())
        for number, (_, words) in commands.COMMANDS.items()
        for said in [commands.text_of(number)]
    ]
    taught = [
        Printed(label, text.encode())
        for label, text in zip(lesson.LABELS, lesson.TEXTS, strict=True)
    ]
    assert [one.carried[:2] for one in plain] == [b"LB"] * 10
    for page, layout, wanted in (
        ("wall_sheet", wall_sheet.SHEET, plain),
        ("scanner_sheet", lesson.SHEET, taught),
    ):
        file = cast.clients["warehouse"].get(reverse(page)).content
        places = cut(file, layout, 600)
        assert len(places) == len(wanted)
        for one, place in zip(wanted, places, strict=True):
            assert faults(one, place, pyzbar) == []
            assert len(by_zxing(place)) == 2, "a line code and a square one"
        document = pypdfium2.PdfDocument(file)
        text = document[0].get_textpage()
        for number, one in enumerate(wanted):
            left, top = (72 / 25.4 * mm for mm in layout.corner(number))
            high = 72 / 25.4 * layout.page_height - top
            wide, tall = 72 / 25.4 * layout.width, 72 / 25.4 * layout.height
            words = text.get_text_bounded(left, high - tall, left + wide, high)
            assert one.label.title in words
        document.close()


def test_a_manager_enters_printers_and_a_wrong_address_is_refused(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """IPP alone, without a password in it; what changed stands with who and when.

    Where the server has no print command, no printer is offered: labels come as a file.
    """
    mona = cast.clients["manager"]
    data = {"name": "Office", "address": "http://printer", "layout": "a4-3x8", "dpi": "600"}
    refused = mona.post(reverse("printers"), data).content.decode()
    assert "expected an address such as ipp://server:631/printers/labels" in refused

    mona.post(reverse("printers"), data | {"address": "ipp://office:631/ipp/print"})
    office = Printer.objects.get(name="Office")
    change = {"change": office.pk, "address": office.address, "layout": "a4-3x7", "dpi": "300"}
    mona.post(reverse("printers"), change)
    office.refresh_from_db()

    assert (office.layout, office.dpi, office.in_use) == ("a4-3x7", 300, False)
    assert [one.name for one in label_printing.printers()] == ["Bench 1"]
    assert cast.people["manager"].amendments.filter(about="printer:Office").count() == 1

    monkeypatch.setenv("PATH", "")
    bare = mona.get(reverse("labels")).content.decode()
    assert "no print command" in bare
    assert "Bench 1" not in bare
    file = mona.post(reverse("labels"), {"codes": "BIN1", "layout": "letter-3x10"})
    assert [{"BIN1"}] == texts(file.content)
