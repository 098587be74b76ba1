"""Looking back by batch, box, delivery and person; where things are now; the drawing of a way."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils.timezone import override

from inventory import deliveries, standing_now
from inventory.look_back import look_back
from inventory.models import Item, Lot
from inventory.tracing import chain
from inventory.way import STEP, drawn
from tests.firm import Firm, element_string
from tests.inventory.deliveries import begin
from tests.kitting import yard as yards


def now(code: str) -> list[tuple[int, tuple[str, ...]]]:
    """How many and where, of all that a look-back tells."""
    return sorted((row.quantity, row.places) for row in look_back(code)[0].things)


def test_a_batch_is_followed_to_every_place(shop: Firm) -> None:
    """What lies at the dock, what went to a van."""
    batch = "]C1010952123400003710LOT7"
    shop.wanda.scan("receive", batch, target="DOCK", quantity=900_000)
    shop.wanda.scan("put", batch, start="DOCK", target="VAN1", quantity=300_000)

    assert now("lot7") == [(300_000, ("Van 1",)), (600_000, ("Dock", "Depot"))]

    other = Item.objects.create(code="SEA2", name="Other sealant", tracking="lot", unit="ul")
    Lot.objects.create(item=other, number="LOT-7", key="LOT7")
    assert look_back("LOT7")[0].name == "Sealant, batch LOT7 and Other sealant, batch LOT-7"


def test_a_box_tells_what_lies_in_it(shop: Firm) -> None:
    """The unit in it until it is taken out."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")})
    assert [row.code for row in look_back("BOX-1")[0].things] == ["A1"]

    shop.wanda.scan("put", element_string("A1"), target="BIN1")
    assert look_back("BOX-1")[0].things == ()


def test_a_delivery_is_told_with_its_things(shop: Firm) -> None:
    """By its code and by the number on the paper; where what came is now."""
    delivery = begin(shop)
    about = {"subject": delivery.subject}
    shop.wanda.scan("count_boxes", quantity=3, **about)
    for serial in ("A1", "A2"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK", **about)
    shop.wanda.scan("put", "A2", target="BIN1")
    shop.wanda.scan("receive", element_string("B1"), target="DOCK")

    for code in (delivery.code.lower(), "LS-1"):
        found, _ = look_back(code)
        assert (found.kind, [link.step for link in found.links]) == (
            "delivery",
            ["count_boxes", "receive", "receive"],
        )
        assert [(row.code, row.places[0]) for row in found.things] == [
            ("A1", "Dock"),
            ("A2", "Bin 1"),
        ]


def test_our_code_of_a_delivery_is_not_hidden_by_another_s_paper(shop: Firm) -> None:
    """A supplier's number may read as our code; one that stands on two papers means neither."""
    delivery = begin(shop)
    shop.wanda.scan("count_boxes", quantity=3, subject=delivery.subject)
    for note in (delivery.code, "LS-7", "LS-7"):
        paper = {"note": note, "supplier": delivery.supplier, "carrier": delivery.carrier}
        deliveries.enter(shop.wanda.person, **paper, dock=shop.dock, boxes=1)

    assert look_back(delivery.code)[0].name == f"Delivery {delivery}"
    assert look_back("LS-7")[0].kind == "unknown"


def test_a_batch_hides_no_job_of_its_number(db: None) -> None:
    """Both are told in one, with the way to the job's page."""
    yard = yards.build()
    kit = yard.kit()
    code = kit.job.code
    yard.wanda.scan("receive", f"]C1010952123400003710{code}", target="DOCK", quantity=900)
    yard.wanda.scan("pick", "CT-BRACKET", subject=kit.subject, quantity=1)

    found, page = look_back(code.lower())
    assert found.name == f"Sealant, batch {code} and Job {code}, {yard.site.place.name}"
    assert page == f"/jobs/{code}/"
    assert [link.step for link in found.links] == ["receive", "pick"]


def test_where_all_of_it_is_though_older_events_are_left_out(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The list of events is cut, what came is not."""
    monkeypatch.setattr("inventory.look_back.MOST", 2)
    delivery = begin(shop)
    for serial in ("A1", "A2", "A3"):
        line = {"target": "DOCK", "subject": delivery.subject}
        shop.wanda.scan("receive", element_string(serial), **line)

    found, _ = look_back(delivery.code)

    assert (len(found.links), found.cut) == (2, True)
    assert [row.code for row in found.things] == ["A1", "A2", "A3"]


@pytest.mark.parametrize("code", ["\0", "A1\0", "\ud800", "%", "_", "'", "a" * 500])
def test_no_code_is_too_odd_to_look_for(shop: Firm, client: Client, code: str) -> None:
    """PostgreSQL takes no NUL in a text: nothing is found, nothing breaks."""
    begin(shop)
    client.force_login(shop.mona.person)
    page = client.get("/trace/", {"code": code.encode("utf-8", "surrogatepass")})
    assert page.status_code == 200
    assert look_back(code, people=True)[0].links == ()


def test_what_one_person_did_is_for_managers(shop: Firm, client: Client) -> None:
    """On the page and where it is asked; the command is the firm's own."""
    shop.wanda.scan("receive", element_string("A1"), target="DOCK")
    assert look_back("wanda")[0].kind == "unknown"
    assert [link.step for link in look_back("WANDA", people=True)[0].links] == ["receive"]

    for phone, seen in ((shop.wanda, False), (shop.mona, True)):
        client.force_login(phone.person)
        page = client.get("/trace/", {"code": "wanda"}).content.decode()
        assert seen == ("Module A1 received" in page)


def test_the_drawing_goes_by_the_places_of_its_box(shop: Firm) -> None:
    """A lane for each place, a step for each move; the box's own place is gone through."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")})
    shop.wanda.scan("put", "BOX-1", target="VAN1")
    undone = shop.wanda.scan("put", element_string("A1"), target="BIN1")
    shop.wanda.scan("undo", reverses=undone.id)

    way = drawn(chain("A1").links)
    assert way is not None
    y = {lane.name: lane.y for lane in way.lanes}
    assert list(y) == ["Supplier", "Box of Module", "Dock", "Van 1"]
    first, second = (stop.x for stop in way.stops)
    assert second - first == STEP
    assert way.line == (
        f"M{way.left} {y['Supplier']}H{first}V{y['Box of Module']}"
        f"H{second - STEP // 2}V{y['Dock']}H{second}V{y['Van 1']}H{second + STEP}"
    )
    assert drawn(()) is None


def test_two_places_of_one_name_are_two_lanes(shop: Firm) -> None:
    """From one box into another of the same name; days are those of the clock on the wall."""
    at = {"at": "2026-11-25T22:40:00.000Z"}
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **at, **{"with": element_string("A1")})
    shop.wanda.scan("receive", "BOX-2", target="DOCK", **{"with": element_string("A2")})
    at["at"] = "2026-11-25T23:20:00.000Z"
    assert shop.wanda.scan("put", "A1", target="BOX-2", **at).verdict == "applied"

    with override("Europe/Berlin"):  # an hour ahead of UTC in November: the 25th, then the 26th
        way = drawn(chain("A1").links)

    assert way is not None
    assert [lane.name for lane in way.lanes] == ["Supplier", "Box of Module", "Box of Module"]
    assert [stop.y for stop in way.stops] == [way.lanes[1].y, way.lanes[2].y]
    assert [stop.day for stop in way.stops] == [True, True]


def test_the_command_tells_a_delivery(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """In words and as JSON; what nobody knows is refused; where things are left out, it says so."""
    delivery = begin(shop)
    shop.wanda.scan("receive", element_string("A1"), target="DOCK", subject=delivery.subject)
    out = StringIO()
    call_command("trace", delivery.code, json=True, stdout=out)
    found = json.loads(out.getvalue())
    assert (found["kind"], found["things"][0]["places"]) == ("delivery", ["Dock", "Depot"])
    out = StringIO()
    call_command("trace", delivery.code, stdout=out)
    assert "now: 1 x Module A1: Dock, in Depot" in out.getvalue()
    assert "no more than" not in out.getvalue()
    monkeypatch.setattr(standing_now, "MOST", 1)
    call_command("trace", delivery.code, stdout=out)
    assert "now: no more than 1 of a kind are told" in out.getvalue()
    client = Client()
    client.force_login(shop.wanda.person)
    page = client.get("/trace/", {"code": delivery.code}).content.decode()
    assert "No more than 1 of a kind are told here" in page
    with pytest.raises(CommandError, match="expected a code that is known here"):
        call_command("trace", "nobody")
