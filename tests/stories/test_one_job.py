"""One job's whole way, from the plan to the empty, closed kit, by events alone."""

from __future__ import annotations

import pytest

from inventory import audit, intake
from inventory.digest import digest
from inventory.models import Event, Finding, Hold, Movement, Outcome, Unit
from kitting import queries
from kitting.models import AsBuilt, Kit
from kitting.progress import fold
from tests.firm import NOW
from tests.kitting import yard as yards
from tests.kitting.yard import Yard, about, fresh

pytestmark = pytest.mark.django_db
PHOTO = "e" * 64
FIRST, SECOND, TOP = ({"stack": 1, "level": n} for n in (1, 2, 3))


def stock(yard: Yard, kit: Kit) -> None:
    """All that the kit needs is on the shelves; one spare module is on the van."""
    for serial in ("M1", "M2"):
        yard.box(serial)
    yard.box("P1", "CT-POWER")
    yard.box("SPARE", at=yard.firm.van)
    for total in fold(kit).totals.values():
        if total.item.tracking != "serial" and total.to_pick:
            yard.shelve(total.item.code, total.to_pick)


def pick_and_load(yard: Yard, kit: Kit) -> None:
    """One scan for each box, one for each item, one for each parcel and long thing."""
    for box in ("BOX-M1", "BOX-M2", "BOX-P1"):
        assert yard.wanda.scan("pick", box, **about(kit)).verdict == "applied"
    for total in fold(kit).totals.values():
        if total.to_pick:
            done = yard.wanda.scan("pick", total.item.code, quantity=total.to_pick, **about(kit))
            assert done.verdict == "applied", done.sentence
    assert fold(kit).all_picked
    parcel = kit.packages.get(kind="parcel").place.code
    bay = kit.packages.get(kind="bay").place
    loose = bay.holdings.filter(quantity__gt=0).values_list("lot__item__code", flat=True)
    for text in (parcel, "BOX-M1", "BOX-M2", "BOX-P1", *loose):
        assert yard.wanda.scan("load", text, **about(kit)).verdict == "applied"
    assert fold(kit).all_loaded


def unbox(yard: Yard, kit: Kit) -> None:
    """One bag is missing, one module is cracked; the van's spare stands in."""
    bags = [package.place for package in kit.packages.filter(kind="bag")]
    for bag in bags[1:]:
        assert yard.tariq.scan("unbox", bag.code, **about(kit)).verdict == "applied"
    assert yard.tariq.scan("missing", bags[0].code, **about(kit)).verdict == "problem"
    assert yard.tariq.scan("unbox", "BOX-M1", **about(kit)).verdict == "stopped"
    for serial in ("M1", "M2", "P1"):
        assert yard.tariq.scan("unbox", serial, **about(kit)).verdict == "applied"
    cracked = yard.tariq.scan("damaged", "M2", photo=PHOTO, reason="cracked", **about(kit))
    assert cracked.verdict == "problem"
    assert yard.tariq.scan("unbox", "SPARE", **about(kit)).verdict == "applied"
    for total in fold(kit).totals.values():
        if total.in_boxes:
            assert yard.tariq.scan("unbox", total.item.code, **about(kit)).verdict == "applied"


def fit(yard: Yard, kit: Kit) -> None:
    """Two modules and the power unit stand; a box label is stopped."""
    carton = yard.tariq.scan("fit", "BOX-M1", position=FIRST, **about(kit))
    assert carton.verdict == "stopped"
    for number, (serial, place) in enumerate((("M1", FIRST), ("SPARE", SECOND), ("P1", TOP)), 1):
        done = yard.tariq.scan("fit", serial, position=place, number=number, **about(kit))
        assert done.verdict == "applied", done.sentence
    assert yard.tariq.scan("commission", "P1", reason="2.1.0", **about(kit)).verdict == "applied"


def finish(yard: Yard, kit: Kit) -> None:
    """Used as planned, the rest brought back, then closed."""
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "stopped"
    assert yard.tariq.scan("use", **about(kit)).verdict == "applied"
    # A damaged battery waits for a named person's decision about its packing.
    assert yard.tariq.scan("bring_back", "M2", target="DOCK", **about(kit)).verdict == "stopped"
    decided = yard.mona.scan("packing_class", "M2", kind="p908", reason="no heat, by the maker")
    assert decided.verdict == "applied", decided.sentence
    assert yard.tariq.scan("bring_back", "M2", target="DOCK", **about(kit)).verdict == "applied"
    assert yard.tariq.scan("bring_back", **about(kit)).verdict == "applied"
    assert queries.left_of(kit) == []
    yard.ticks(kit)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"


def walk(yard: Yard) -> Kit:
    """Plan, release, pick, load, unbox, fit, close."""
    kit = yard.kit()
    stock(yard, kit)
    pick_and_load(yard, kit)
    unbox(yard, kit)
    fit(yard, kit)
    finish(yard, kit)
    return fresh(kit)


def test_a_kit_goes_from_the_plan_to_empty_and_closed() -> None:
    """Everything is fitted, used, back, missing with a reason or damaged and set aside.

    The same lines sent again and side tables made anew change nothing.
    """
    yard = yards.build()
    kit = walk(yard)
    check_end(kit)
    assert [check.problems for check in audit.run() if check.problems] == []
    before, counts = digest(), rows()
    for phone in (yard.wanda, yard.tariq, yard.mona):
        answers = intake.take(phone.person, phone.sent, NOW)
        assert all(answer.duplicate for answer in answers)
    assert (digest(), rows()) == (before, counts)
    audit.rebuild()
    assert (digest(), rows()) == (before, counts)


def check_end(kit: Kit) -> None:
    """What the book says of the kit at the end."""
    totals = fold(kit).totals
    assert not kit.is_open
    assert totals["CT-MODULE"].fitted == 2
    assert (totals["CT-MODULE"].damaged, totals["CT-MODULE"].back) == (1, 1)
    assert totals["CT-POWER"].fitted == 1
    assert (totals["CT-BOLT6"].used, totals["CT-BOLT6"].missing) == (12, 0)
    assert totals["CT-HAMMER"].back == 1
    stands = {(row.stack, row.level): row.unit.serial for row in AsBuilt.objects.all()}
    assert stands == {(1, 1): "M1", (1, 2): "SPARE", (1, 3): "P1"}
    assert set(Unit.objects.values_list("evidence", flat=True)) == {"seen"}
    assert Hold.objects.get(release=None).unit == Unit.objects.get(serial="M2")
    kinds = set(Finding.objects.filter(answer=None).values_list("kind", flat=True))
    assert kinds == {"missing"}
    told = queries.story(kit)
    assert [told[0].event.step, told[-1].event.step] == ["pick", "close_kit"]
    assert {entry.verdict for entry in told} == {"applied", "stopped", "problem"}


def rows() -> list[int]:
    """How many rows the ledger has."""
    return [model.objects.count() for model in (Event, Outcome, Movement, Finding)]
