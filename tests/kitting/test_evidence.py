"""Whose boxes arrive broken, read from what was told at the door; and batches from their units."""

from typing import Any

from django.test import Client
from django.urls import reverse

from inventory import arrivals, deliveries
from inventory.models import Delivery, Event, Lot, Partner, Unit
from kitting import evidence
from kitting.models import Kit
from tests.inventory.deliveries import PHOTO, begin
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about


def came(yard: Yard, delivery: Delivery, boxes: int, bad: dict[str, str]) -> dict[str, Any]:
    """Boxes counted at the door, those with these codes bad."""
    about = {"subject": delivery.subject}
    yard.wanda.scan("count_boxes", quantity=boxes, **about)
    for code, kind in bad.items():
        yard.wanda.scan("bad_box", code, kind=kind, photo=PHOTO, **about)
    return about


def test_each_bad_box_counts_once_and_by_whom_it_came(yard: Yard) -> None:
    """Nine of twelve of one carrier, one of forty of another; both bring one supplier's boxes."""
    rough = begin(yard.firm, boxes=12)
    east = deliveries.enter_partner(code="east", name="East Road", kind="carrier")
    careful = deliveries.enter(
        yard.wanda.person,
        note="LS-2",
        supplier=Partner.objects.get(code="north"),
        carrier=east,
        dock=yard.firm.dock,
        boxes=40,
    )
    about = came(yard, rough, 12, {f"BOX-{n}": "crushed" for n in range(8)})
    yard.wanda.scan("bad_box", "BOX-0", kind="wet", photo=PHOTO, **about)
    yard.wanda.scan("driver_gone", **about)
    yard.wanda.scan("bad_box", "BOX-9", kind="shock", photo=PHOTO, **about)
    came(yard, careful, 40, {"BOX-A": "wet"})

    assert arrivals.came_bad([rough, careful]) == {rough.pk: (9, 12), careful.pk: (1, 40)}
    suppliers, carriers, batches = evidence.tables()
    assert [(row.whose, row.bad, row.total) for row in suppliers.rows] == [("North Store", 10, 52)]
    assert suppliers.rows[0].alone
    assert [(row.whose, row.alarm) for row in carriers.rows] == [
        ("Swift Road", True),
        ("East Road", False),
    ]
    assert (carriers.alarms, batches.rows) == (1, ())
    mona = Client()
    mona.force_login(yard.mona.person)
    page = mona.get(reverse("evidence")).content.decode()
    assert "1 stands out" in page
    assert "9 of 12 boxes" in page


def test_what_nobody_counted_is_left_out(yard: Yard) -> None:
    """A note alone is no box; a telling that was undone is no damage."""
    delivery = begin(yard.firm)
    assert arrivals.came_bad([delivery]) == {}
    came(yard, delivery, 3, {"BOX-1": "wet"})
    yard.wanda.scan("undo", reverses=str(Event.objects.get(step="bad_box").uid))
    assert arrivals.came_bad([delivery]) == {delivery.pk: (0, 3)}


def test_batches_by_their_units(yard: Yard, kit: Kit) -> None:
    """Two modules of two batches, one reported damaged on site; a nameless batch is none."""
    carry(yard, kit, "S1", "S2")
    yard.tariq.scan("unbox", "S1", **about(kit))
    told = yard.tariq.scan("damaged", "S1", photo="d" * 64, reason="dented", **about(kit))
    assert told.verdict == "problem", told.sentence
    assert evidence.tables()[2].rows == ()
    for serial, number in (("S1", "L7"), ("S2", "L8")):
        unit = Unit.objects.get(serial=serial)
        lot = Lot.objects.create(item=unit.item, number=number, key=number)
        Unit.objects.filter(pk=unit.pk).update(lot=lot)

    rows = evidence.tables()[2].rows
    assert [(row.whose[-2:], row.bad, row.total) for row in rows] == [("L7", 1, 1), ("L8", 0, 1)]
    assert not any(row.watch for row in rows)
