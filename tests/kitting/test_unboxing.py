"""Unboxing: the thing itself is seen, never its box."""

import pytest
from django.test import Client

from inventory import audit
from inventory.models import Event, Finding, Hold, Place, Unit
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.kitting.yard import GTINS, Yard, about


def carry(yard: Yard, kit: Kit, *serials: str) -> None:
    """Receive, pick and load boxes."""
    for serial in serials:
        yard.box(serial)
        yard.wanda.scan("pick", f"BOX-{serial}", **about(kit))
        yard.wanda.scan("load", f"BOX-{serial}", **about(kit))


def bag(kit: Kit, step: str) -> Place:
    return Package.objects.get(kit=kit, kind="bag", step=step).place


def test_a_box_label_is_never_a_unit(yard: Yard, kit: Kit) -> None:
    """The box's own code and a linked label are both stopped; the unit's label counts."""
    carry(yard, kit, "S1")
    unit = Unit.objects.get(serial="S1")
    unit.aliases.create(kind="box", text="OUTER-S1", key="OUTER-S1")
    by_code = yard.tariq.scan("unbox", "BOX-S1", **about(kit))
    by_label = yard.tariq.scan("unbox", "OUTER-S1", **about(kit))
    by_unit = yard.tariq.scan("unbox", "S1", **about(kit))

    words = "This is the box's label. Scan the label on the thing itself."
    assert (by_code.verdict, by_code.sentence) == ("stopped", words)
    assert (by_label.verdict, by_label.sentence) == ("stopped", words)
    assert by_unit.verdict == "applied"
    unit.refresh_from_db()
    assert (unit.evidence, unit.place) == ("seen", kit.job.site.place)


def test_a_page_marks_what_waits_for_a_scan_and_nothing_else(yard: Yard, kit: Kit) -> None:
    """What the foot of the smallest phone goes by: loading, unboxing and what goes back."""
    phone = Client()
    phone.force_login(yard.tariq.person)

    def waiting() -> list[int]:
        pages = (f"/my/{kit.job.code}/{step}" for step in ("load", "unbox", "back"))
        return [phone.get(page).content.decode().count("data-unscanned") for page in pages]

    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    packed = waiting()
    parcel = Package.objects.get(kit=kit, kind="parcel").place
    for code in ("BOX-S1", parcel.code):
        yard.wanda.scan("load", code, **about(kit))
    loaded = waiting()
    yard.tariq.scan("unbox", "S1", **about(kit))
    unboxed = waiting()
    yard.tariq.scan("bring_back", "S1", **about(kit))

    assert [packed, loaded, unboxed, waiting()] == [[2, 1, 1], [0, 1, 1], [0, 0, 1], [0, 0, 0]]


def test_twice_changes_nothing(yard: Yard, kit: Kit) -> None:
    """A unique code scanned again is noted."""
    carry(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    again = yard.tariq.scan("unbox", "S1", **about(kit))

    assert again.verdict == "noted"
    assert fold(kit).totals["CT-MODULE"].seen == 1


def test_a_bag_is_seen_by_its_label(yard: Yard, kit: Kit) -> None:
    """What is in the bag counts as seen; what is in an unscanned bag does not."""
    yard.shelve("CT-TIE", 12)
    yard.wanda.scan("pick", "CT-TIE", quantity=12, **about(kit))
    parcel = Package.objects.get(kit=kit, kind="parcel").place
    yard.wanda.scan("load", parcel.code, **about(kit))
    yard.tariq.scan("unbox", parcel.code, **about(kit))
    before = fold(kit).totals["CT-TIE"].seen
    done = yard.tariq.scan("unbox", bag(kit, "join").code, **about(kit))

    assert (before, done.verdict) == (0, "applied")
    assert fold(kit).totals["CT-TIE"].seen == 4


def test_a_quantity_is_confirmed_out_of_the_parcels(yard: Yard, kit: Kit) -> None:
    """Without a number all that is packed; beyond it the scan marks that nobody picked it."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    yard.wanda.scan("load", Package.objects.get(kit=kit, kind="parcel").place.code, **about(kit))
    done = yard.tariq.scan("unbox", "CT-BRACKET", **about(kit))
    unpicked = yard.tariq.scan("unbox", "CT-CLAMP-L", quantity=3, **about(kit))
    nothing = yard.tariq.scan("unbox", "CT-BRACKET", **about(kit))

    assert (done.verdict, unpicked.verdict, nothing.verdict) == ("applied", "problem", "noted")
    assert fold(kit).totals["CT-BRACKET"].seen == 2
    assert fold(kit).totals["CT-CLAMP-L"].seen == 3


def test_what_comes_in_a_box_is_confirmed_from_the_supplier(yard: Yard, kit: Kit) -> None:
    """The base's box brings four feet: they are not picked, and seen at the site."""
    total = fold(kit).totals["CT-FOOT"]
    done = yard.tariq.scan("unbox", "CT-FOOT", **about(kit))

    assert (total.in_boxes, total.to_pick) == (4, 0)
    assert done.verdict == "applied"
    assert fold(kit).totals["CT-FOOT"].seen == 4
    assert not Finding.objects.exists()


def test_a_unit_from_the_van_stands_in_for_the_damaged_one(yard: Yard, kit: Kit) -> None:
    """The damaged one stays set aside and answered; its line is filled."""
    carry(yard, kit, "S1", "S2")
    yard.box("SPARE", at=yard.firm.van)
    for serial in ("S1", "S2"):
        yard.tariq.scan("unbox", serial, **about(kit))
    yard.tariq.scan("damaged", "S2", photo="a" * 64, reason="cracked", **about(kit))
    before = {line.line.item.code: line.state for line in fold(kit).lines}
    done = yard.tariq.scan("unbox", "SPARE", **about(kit))
    after = {line.line.item.code: line.state for line in fold(kit).lines}

    assert before["CT-MODULE"] == "damaged"
    assert done.verdict == "applied"
    assert "stands in" in done.sentence
    assert Finding.objects.get(kind="damaged").answer.words == "Replaced by SPARE from the van."
    assert Hold.objects.filter(unit__serial="S2", release=None).exists()
    assert after["CT-MODULE"] == "seen"


def test_a_set_aside_unit_is_stopped(yard: Yard, kit: Kit) -> None:
    """A recall reaches the site."""
    carry(yard, kit, "S1")
    yard.mona.scan("set_aside", "S1", reason="recall 7")
    done = yard.tariq.scan("unbox", "S1", **about(kit))

    assert (done.verdict, done.sentence) == (
        "stopped",
        "battery module S1 is set aside: recall 7.",
    )


def test_unboxing_what_was_never_loaded_marks_the_steps(yard: Yard, kit: Kit) -> None:
    """From the shelf straight to the site: two marks, then the late scans fill them."""
    yard.box("S1")
    done = yard.tariq.scan("unbox", "S1", **about(kit))
    marks = list(Finding.objects.filter(kind="skipped").order_by("pk"))
    late = [yard.wanda.scan(step, "S1", **about(kit)).verdict for step in ("pick", "load")]

    assert done.verdict == "problem"
    assert [mark.words.split(" was")[0] for mark in marks] == ["Picking", "Loading"]
    assert late == ["noted", "noted"]
    assert not Finding.objects.filter(kind="skipped", answer=None).exists()


def test_a_missing_bag_that_turns_up_is_whole_again(yard: Yard, kit: Kit) -> None:
    """What left it as missing goes back into it and the problems are answered."""
    yard.shelve("CT-TIE", 12)
    yard.wanda.scan("pick", "CT-TIE", quantity=12, **about(kit))
    yard.wanda.scan("load", Package.objects.get(kit=kit, kind="parcel").place.code, **about(kit))
    yard.tariq.scan("missing", bag(kit, "join").code, **about(kit))
    missing = fold(kit).totals["CT-TIE"].missing
    yard.tariq.scan("unbox", bag(kit, "join").code, **about(kit))

    assert missing == 4
    assert fold(kit).totals["CT-TIE"].missing == 0
    assert fold(kit).totals["CT-TIE"].seen == 4


def test_a_revision_the_parts_list_bars_is_stopped(yard: Yard, kit: Kit) -> None:
    """Two revisions that the edition does not name together are not mixed."""
    carry(yard, kit, "S1", "S2")
    Unit.objects.filter(serial="S1").update(revision="A")
    Unit.objects.filter(serial="S2").update(revision="Z")
    done = yard.tariq.scan("unbox", "S2", **about(kit))

    assert done.verdict == "stopped"
    assert "revision Z" in done.sentence


@pytest.mark.parametrize("undone", [False, True])
def test_a_box_that_owes_its_serial_is_loaded_and_named_when_the_thing_is_seen(
    yard: Yard, kit: Kit, undone: bool
) -> None:
    """The serial that nobody knew is that of the box in this kit; nothing is left waiting.

    One that goods-in entered and undid is no second module beside the one in the box.
    """
    if undone:
        came = yard.wanda.scan("receive", "BOX-7", target="DOCK", **{"with": yard.label("S7")})
        yard.wanda.scan("undo", reverses=came.id)
    owed = {"with": GTINS["CT-MODULE"], "kind": "owed", "target": "DOCK"}
    yard.wanda.scan("receive", "BOX-7", **owed)
    for step in ("pick", "load"):
        assert yard.wanda.scan(step, "BOX-7", **about(kit)).verdict == "applied"
    done = yard.tariq.scan("unbox", yard.label("S7"), **about(kit))

    unit = Unit.objects.get(serial="S7")
    assert (done.verdict, unit.evidence) == ("applied", "seen")
    assert unit.place == kit.job.site.place
    assert not Unit.objects.filter(place__code="BOX-7").exists()
    assert fold(kit).totals["CT-MODULE"].on_site == 1
    assert [finished.problems for finished in audit.run() if finished.problems] == []


def test_goods_in_says_at_once_which_kit_waits(yard: Yard, kit: Kit) -> None:
    """Two modules are needed: each of the first two boxes is wanted, a third is not."""
    said = [
        yard.wanda.scan("receive", f"BOX-{n}", target="DOCK", **{"with": yard.label(f"S{n}")})
        for n in range(3)
    ]
    bay = Package.objects.get(kit=kit, kind="bay").place

    wanted = f" For job {kit.job.code}, on 26 Nov: straight to {bay.name}."
    assert [result.sentence.partition(".")[2] for result in said] == [wanted, wanted, ""]


def test_a_bag_that_holds_a_batch_set_aside_is_not_taken_as_seen(yard: Yard, kit: Kit) -> None:
    """The batch was recalled on the way: it is taken out first."""
    yard.shelve("CT-TIE", 12)
    yard.wanda.scan("pick", "CT-TIE", quantity=12, **about(kit))
    yard.wanda.scan("load", Package.objects.get(kit=kit, kind="parcel").place.code, **about(kit))
    place = bag(kit, "join")
    lot = place.holdings.get(quantity__gt=0).lot
    event = yard.mona.scan("load", "CT-TIE", **about(kit)).id
    hold = Hold.objects.create(event=Event.objects.get(uid=event), lot=lot, reason="recalled")
    before = fold(kit).totals["CT-TIE"].seen

    done = yard.tariq.scan("unbox", place.code, **about(kit))

    assert (done.verdict, hold.reason in done.sentence) == ("stopped", True)
    assert "Take it out first" in done.sentence
    assert fold(kit).totals["CT-TIE"].seen == before == 0
