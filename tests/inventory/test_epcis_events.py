"""What happened at the depot, told as EPCIS 2.0: returns, recalls, cuts; one thing alone."""

from __future__ import annotations

import json
from typing import Any

import pytest

from inventory import intake
from inventory.codes.epcis import faults_of
from inventory.epcis_events import document, told
from inventory.epcis_steps import FREEING, STEPS
from inventory.models import Event, Item, ItemCode, Lot, Movement, Unit
from tests.firm import MODULE_GTIN, NOW, Firm, element_string
from tests.inventory.deliveries import PHOTO, begin
from tests.inventory.recalls import freeze, letter

BRACKETS, CABLE = "09521234000020", "09521234000075"
SILENT = {
    **dict.fromkeys(("undo", "missing", "sample_bag"), "what a thing was not, or was not done"),
    **dict.fromkeys(("badge", "show_where", "compare_screen", "measure_bus"), "of no thing's way"),
    **dict.fromkeys(("count_boxes", "pallet_photo", "bad_box", "driver_gone"), "before it is ours"),
    **dict.fromkeys(("empty_bin", "teach", "confirm_code", "open_box"), "nothing moves"),
    **dict.fromkeys(("label_says", "charged", "let_through", "charge"), "what is known of it"),
    **dict.fromkeys(("claim_told", "claim_end", "claim_open", "claim_partner"), "between partners"),
    **dict.fromkeys(("claim_approved", "claim_need", "claim_money"), "between partners"),
    **dict.fromkeys(("packing_class", "maker_says", "expect_back", "settle"), "said, not done"),
    **dict.fromkeys(("notice_told", "notice_got"), "who knows of a recall"),
    **dict.fromkeys(("notice_freeze", "notice_name"), "told as what was set aside"),
    **dict.fromkeys(
        ("parcel_full", "close_kit", "sign_over", "leave_short", "tick"), "of a kit or job"
    ),
    **dict.fromkeys(("request", "request_taken", "request_answered"), "of a kit or job"),
    **dict.fromkeys(("request_come", "request_dropped"), "of a kit or job"),
}


def address(serial: str) -> str:
    """The GS1 Digital Link of a module (EPCIS 2.0 section 8.2: canonical form, id.gs1.org)."""
    return f"https://id.gs1.org/01/{MODULE_GTIN}/21/{serial}"


def all_told() -> list[dict[str, Any]]:
    """Every event, from a document without a fault."""
    text = "".join(document(told(Event.objects.all()), NOW))
    assert faults_of(text) == []
    events: list[dict[str, Any]] = json.loads(text)["epcisBody"]["eventList"]
    assert len({event["eventID"] for event in events}) == len(events)
    return events


def way(name: str) -> list[tuple[str, str, str]]:
    """What is told of one thing: action, step, disposition."""
    return [
        (event["action"], event["bizStep"], event["disposition"])
        for event in all_told()
        if name in event.get("epcList", []) + event.get("childEPCs", [])
    ]


def test_each_act_is_told_or_has_nothing_to_tell() -> None:
    """A new act that moves something is no secret: it has its words, or stands here with a why."""
    assert set(intake.ACTS) - {*STEPS, *FREEING} == set(SILENT) & set(intake.ACTS)
    assert not set(SILENT) & {*STEPS, *FREEING}
    assert {*STEPS, *FREEING} <= set(intake.ACTS)


def test_what_is_refused_comes_back_leaves_and_is_scrapped(shop: Firm) -> None:
    """CBV 2.0: `returned` was sent back, `destroyed` is no more and its event is a DELETE."""
    made = begin(shop, boxes=2)
    shop.wanda.scan("count_boxes", quantity=2, subject=made.subject)
    for serial in ("A1", "A2"):
        inside = {"with": element_string(serial), "target": "DOCK", "subject": made.subject}
        shop.wanda.scan("receive", f"BOX-{serial}", **inside)
    shop.wanda.scan("refuse_box", "BOX-A1", kind="wet", photo=PHOTO, subject=made.subject)
    received = [("OBSERVE", "receiving", "in_progress"), ("ADD", "receiving", "in_progress")]
    assert way(address("A1")) == [*received, ("OBSERVE", "shipping", "returned")]

    shop.wanda.scan("put", element_string("A2"), target="BIN1")
    shop.wanda.scan("come_back", "A2", kind="wrong", target="DOCK")
    shop.wanda.scan("check_back", "A2", kind="not_usable:none")
    shop.wanda.scan("send_back", "A2", kind="supplier", reason="parcel 9")
    assert way(address("A2")) == [
        *received,
        ("OBSERVE", "storing", "in_progress"),
        ("OBSERVE", "receiving", "returned"),
        ("OBSERVE", "inspecting", "returned"),
        ("OBSERVE", "shipping", "returned"),
    ]
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=9)
    shop.wanda.scan("come_back", BRACKETS, kind="left", start="BIN1", target="DOCK", quantity=3)
    back = Movement.objects.latest("pk")
    subject = f"return:{back.event.returns.get().code}"
    shop.wanda.scan("check_back", kind="not_usable", reason="bent", subject=subject)
    gone = [event for event in all_told() if event["bizStep"] == "destroying"]
    bent = {"epcClass": f"urn:uuid:{back.lot.uid}", "quantity": 3}
    assert [(one["action"], one["quantityList"]) for one in gone] == [("DELETE", [bent])]


def test_what_is_recalled_and_let_go_again_is_told_of_each(shop: Firm) -> None:
    """Set aside by one event for all that are named; free only when nothing else holds it."""
    for serial in ("A1", "A2"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    shop.wanda.scan("set_aside", "A1", reason="dropped")
    notice = letter(shop.mona, "prefix A")
    freeze(shop.mona, notice)
    shop.wanda.scan("receive", element_string("A3"), target="DOCK")
    recalled = [event for event in all_told() if event["disposition"] == "recalled"]
    assert [event["epcList"] for event in recalled] == [
        [address("A1"), address("A2")],
        [address("A3")],
    ]
    for serial in ("A1", "A2"):
        shop.mona.scan("notice_free", serial, reason="updated", subject=notice.subject)
    assert [way(address(one))[-1][2] for one in ("A1", "A2")] == ["recalled", "available"]
    shop.mona.scan("release", "A1")
    assert way(address("A1"))[-1] == ("OBSERVE", "inspecting", "available")


def test_a_piece_that_is_cut_is_made_of_its_reel(shop: Firm) -> None:
    """A TransformationEvent: so much of one batch went in, the same of another came out.

    The piece goes by our id: under an article's number a batch is the maker's (AI 10).
    """
    cable = Item.objects.create(code="CAB", name="Cable", tracking="length", unit="mm")
    ItemCode.objects.create(item=cable, text=CABLE, key=CABLE)
    shop.wanda.scan("receive", CABLE, target="BIN1", quantity=9_000)
    shop.wanda.scan("make_piece", CABLE, target="BIN1", kind="remnant", quantity=2_500)
    piece = Lot.objects.get(parent__item=cable)
    events = all_told()
    (cut,) = [event for event in events if event["type"] == "TransformationEvent"]
    (went,), (came,) = cut["inputQuantityList"], cut["outputQuantityList"]
    assert (went["quantity"], came["quantity"], "action" in cut) == (2_500, 2_500, False)
    stored = [event["quantityList"] for event in events if event["bizStep"] == "storing"]
    assert (came["epcClass"], stored) == (f"urn:uuid:{piece.uid}", [[came]])


@pytest.mark.parametrize("box", [True, False])
def test_of_one_thing_no_other_is_told(shop: Firm, box: bool) -> None:
    """A recall names hundreds at once: whoever is handed one serial's events reads no other's."""
    for serial in ("A1", "A2"):
        inside = {"with": element_string(serial)} if box else {}
        code = f"BOX-{serial}" if box else element_string(serial)
        shop.wanda.scan("receive", code, target="DOCK", **inside)
    freeze(shop.mona, letter(shop.mona, "prefix A"))
    unit, other = Unit.objects.get(serial="A1"), Unit.objects.get(serial="A2")
    whole = {event["eventID"]: event for event in all_told()}

    alone = list(told(Event.objects.all(), unit))

    assert [event["eventID"] for event in alone] == [
        name for name, event in whole.items() if address("A1") in json.dumps(event)
        or (box and f"{unit.place.uid}" in json.dumps(event))
    ]  # fmt: skip
    text = json.dumps(alone)
    assert (address("A1") in text, address("A2") in text) == (True, False)
    assert not box or f"{other.place.uid}" not in text
