"""What happened, told as EPCIS 2.0: one whole job, counted against the ledger."""

import json
import subprocess
import sys
import tracemalloc
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.codes.epcis import faults_of
from inventory.epcis_events import document, told
from inventory.epcis_names import Names
from inventory.look_back import look_back
from inventory.management.commands import hand_out
from inventory.models import ContainerMove, Event, ItemCode, Lot, Movement, Unit
from tests import firm
from tests.kitting import yard as yards
from tests.stories.test_one_job import walk

pytestmark = pytest.mark.django_db


def address(serial: str, number: str = firm.MODULE_GTIN) -> str:
    """The GS1 Digital Link of a unit (EPCIS 2.0 section 8.2: canonical form, id.gs1.org)."""
    return f"https://id.gs1.org/01/{number}/21/{serial}"


def test_a_job_is_told_as_it_went() -> None:
    """A valid document; a module's way in the right words; each movement told once.

    Words of steps by CBV 2.0: installing joins a composite, removing takes from it.
    """
    yard = yards.build()
    walk(yard)
    yard.box("EXTRA")
    put = yard.wanda.scan("put", "EXTRA", target=yard.firm.bins[0].code)
    yard.wanda.scan("undo", reverses=put.id)

    text = "".join(document(told(Event.objects.all()), firm.NOW))

    assert faults_of(text) == []
    events = json.loads(text)["epcisBody"]["eventList"]
    ids = [event["eventID"] for event in events]
    assert len(ids) == len(set(ids))
    way = [
        (event["type"], event["action"], event["bizStep"])
        for event in events
        if address("M1") in event.get("epcList", []) + event.get("childEPCs", [])
    ]
    assert way[0] == ("ObjectEvent", "OBSERVE", "receiving")
    assert ("AssociationEvent", "ADD", "installing") in way
    stack = f"urn:uuid:{Unit.objects.get(serial='M1').place.uid}"
    (fitted,) = (
        e for e in events if e["type"] == "AssociationEvent" and address("M1") in e["childEPCs"]
    )
    assert stack == fitted["parentID"]
    (broken,) = (event for event in events if event["disposition"] == "damaged")
    assert ([address("M2")], {"set": ["damaged"]}) == (
        broken["epcList"],
        broken["persistentDisposition"],
    )
    (undone,) = (event for event in events if "errorDeclaration" in event)
    assert (f"urn:uuid:{put.id}", "storing") == (undone["eventID"], undone["bizStep"])
    picked = Movement.objects.filter(event__step="pick", unit=None).values_list(
        "quantity", flat=True
    )
    told_picked = [
        one["quantity"]
        for event in events
        if event["bizStep"] == "picking"
        for one in event.get("quantityList", [])
    ]
    assert sorted(picked) == sorted(told_picked)
    loaded = ContainerMove.objects.filter(event__step="load").count()
    assert loaded == sum(len(e.get("childEPCs", [])) for e in events if e["bizStep"] == "loading")


def test_what_has_no_article_number_goes_by_our_id() -> None:
    """And in the measure of UN/ECE recommendation 20 (MMT: millimetre); nobody's name is told."""
    yard = yards.build()
    yard.shelve("CT-AC4", 5000)

    (one,) = told(Event.objects.filter(step="receive"))

    lot = Lot.objects.get(item__code="CT-AC4")
    assert one["quantityList"] == [
        {"epcClass": f"urn:uuid:{lot.uid}", "quantity": 5000, "uom": "MMT"}
    ]
    assert "Wanda" not in json.dumps(one)


def test_what_is_no_key_of_gs1_goes_by_our_id() -> None:
    """GS1 General Specifications: a serial is of set 82 (3.5.2), 02 and 20-29 are of one company.

    Sections from memory; set 82 is figure 7.11-1: no space, no number sign.
    """
    unit = yards.build().box("A1")
    ours = f"urn:uuid:{unit.uid}"
    for serial, named in (("A1", address("A1")), ("A 1", ours), ("A#1", ours), ("A" * 21, ours)):
        unit.serial = serial
        assert Names().unit(unit) == named
    unit.serial = "A1"
    ItemCode.objects.filter(item=unit.item).update(text="0212345678909")
    assert Names().unit(unit) == ours


def test_what_was_stopped_did_not_happen() -> None:
    """Nothing was stored where the scan was refused; where it is now is not where it was looked at.

    EPCIS 2.0 section 7.3.5: the read point is where the event took place (from memory).
    """
    yard = yards.build()
    yard.box("M1")
    yard.wanda.scan("put", "M1", target=yard.firm.bins[0].code)
    assert yard.wanda.scan("put", "M1", target="NOWHERE").verdict == "stopped"
    yard.wanda.scan("set_aside", "M1", reason="dropped")
    there = told(Event.objects.filter(step="set_aside"))
    assert [(one["bizStep"], "readPoint" in one) for one in there] == [("holding", False)]
    yard.wanda.scan("put", "M1", target="DOCK")

    stored = list(told(Event.objects.filter(step="put")))

    dock = f"urn:uuid:{yard.firm.dock.uid}"
    assert len(stored) == Movement.objects.filter(event__step="put").count()
    assert stored[-1]["readPoint"] == {"id": dock}


def test_a_long_record_is_not_held_in_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """20,000 events, 8 MB as text, are written while less than 2 MB are held; a wrong one: none."""
    event = {
        "type": "ObjectEvent",
        "eventTime": "2026-11-24T09:15:00Z",
        "eventTimeZoneOffset": "+00:00",
        "action": "OBSERVE",
        "epcList": [f"urn:x:{'1' * 300}"],
    }
    wrong = event | {"action": "SEEN"}
    monkeypatch.setattr(hand_out, "told", lambda *_: iter([event] * 20_000))
    out = tmp_path / "events.json"
    tracemalloc.start()
    call_command("hand_out", "events", "--out", str(out), "--json", stdout=StringIO())
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert out.stat().st_size > 8_000_000
    assert peak < 2_000_000
    assert faults_of(out.read_bytes()) == []

    out.unlink()
    monkeypatch.setattr(hand_out, "told", lambda *_: iter([event, wrong]))
    with pytest.raises(CommandError, match=r"nothing was written.*eventList\[1\].action"):
        call_command("hand_out", "events", "--out", str(out))
    assert not out.exists()


def test_the_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One serial's events and its proof as files, with the script that checks; others' checked."""
    yard = yards.build()
    yard.box("M1")
    yard.box("M2")
    events, proof, script = (tmp_path / name for name in ("events.json", "M1.proof", "check.py"))

    call_command("hand_out", "events", "--serial", "M1", "--out", str(events), "--json")
    assert json.loads(capsys.readouterr().out) == {"file": str(events), "events": 3}
    assert address("M2") not in events.read_text("utf-8")
    call_command("hand_out", "proof", "M1", "--out", str(proof), "--checker", str(script), "--json")
    assert json.loads(capsys.readouterr().out)["entries"] == 2
    command = [sys.executable, "-I", str(script), str(proof)]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0

    before = proof.read_bytes()
    yard.wanda.scan("set_aside", "M1", reason="Mr Example let it fall")
    with monkeypatch.context() as cut:  # a disk that fills up halfway
        cut.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "disk full")))
        with pytest.raises(
            CommandError, match=f"{proof}: expected a file that can be written, got a disk"
        ):
            call_command("hand_out", "proof", "M1", "--out", str(proof))
    assert (before, 3) == (proof.read_bytes(), len(list(tmp_path.iterdir())))
    # What people typed as a reason is part of what is proved: whoever hands it on is told.
    assert "\n  Mr Example let it fall\n" in capsys.readouterr().err
    call_command("hand_out", "events", "--serial", "M1")
    told_events = capsys.readouterr()
    assert (told_events.err, "Mr Example" in told_events.out) == ("", False)

    bad = tmp_path / "bad.json"
    bad.write_text(events.read_text("utf-8").replace('"OBSERVE"', '"SEEN"'), "utf-8")
    with pytest.raises(CommandError, match=f"2 of 3 are not EPCIS 2.0: {bad}, none"):
        call_command("hand_out", "events", "--check", str(events), str(bad), "none", "--json")
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [one["valid"] for one in found] == [True, False, False]
    assert "action: expected ADD, OBSERVE or DELETE, got 'SEEN'" in found[1]["why"]
    for what in (("proof", "M9"), ("events", "--serial", "M9")):
        with pytest.raises(CommandError, match="expected one that is known here, got 'M9'"):
            call_command("hand_out", *what)
    monkeypatch.setattr("inventory.tracing.MOST", 1)
    for what in (("proof", "M1"), ("events", "--serial", "M1")):
        with pytest.raises(CommandError, match="expected one whose whole chain can be told"):
            call_command("hand_out", *what)


def test_a_job_is_looked_back_at() -> None:
    """By its own code, its kit's, its site's: what happened and where the units are now."""
    yard = yards.build()
    kit = walk(yard)
    yard.box("EXTRA")

    for code in (kit.job.code.lower(), kit.code, yard.site.place.code):
        found, page = look_back(code)
        assert {link.step for link in found.links} >= {"pick", "load", "unbox", "fit", "close_kit"}
        assert "receive" not in {link.step for link in found.links}
        assert [row.code for row in found.things] == ["M1", "M2", "SPARE", "P1"]
        assert [bool(row.site) for row in found.things] == [True, False, True, True]
        assert page
