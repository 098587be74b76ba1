"""At the door: boxes against the note, bad ones, the slip, claims with their clocks."""

from datetime import timedelta

import pytest

from inventory import audit, intake
from inventory.arrivals import door
from inventory.claims import open_ones
from inventory.delivery_lists import claims_due
from inventory.models import Claim, ClaimStep, Finding, Hold, Movement, Place
from inventory.tracing import chain
from tests.firm import NOW, Firm, element_string
from tests.inventory.deliveries import PHOTO, begin

BRACKETS = "09521234000020"  # a bag says four


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def test_what_is_missing_and_bad_stands_on_the_slip_and_opens_claims(shop: Firm) -> None:
    """The supplier owes the missing box, the carrier the crushed one, each with its own clocks."""
    about = {"subject": begin(shop).subject}
    early = shop.wanda.scan("driver_gone", **about)
    counted = shop.wanda.scan("count_boxes", quantity=2, **about)
    blind = shop.wanda.scan("bad_box", "BOX-1", kind="crushed", **about)
    bad = shop.wanda.scan("bad_box", "BOX-1", kind="crushed", photo=PHOTO, **about)
    shop.wanda.scan("pallet_photo", photo=PHOTO, **about)
    gone = shop.wanda.scan("driver_gone", **about)

    assert early.verdict == "stopped"  # what is signed without a remark counts as accepted
    assert counted.sentence == "2 of 3 boxes, 1 missing. It goes on the driver's slip."
    assert (blind.verdict, blind.sentence) == ("stopped", "Photograph the box.")
    assert bad.verdict == "problem"
    assert gone.sentence == (
        "On the slip: 2 of 3 boxes, 1 missing. 1 box damaged outside: crushed. Photos taken. "
        "Contents not checked."
    )
    short, crushed = Claim.objects.order_by("pk")
    assert (str(short.partner), short.about) == ("North Store", "shortage")
    assert (str(crushed.partner), crushed.about) == ("Swift Road", "damage")
    clocks = [(due.how, due.at - NOW) for due in crushed.dues.all()]
    assert clocks == [("phone", timedelta(hours=24)), ("writing", timedelta(days=15))]
    assert clean()


def test_a_bad_box_is_set_aside_when_it_is_scanned_in_later(shop: Firm) -> None:
    """The driver has gone; the box told at the door is known again by its code."""
    about = {"subject": begin(shop, boxes=2).subject}
    shop.wanda.scan("count_boxes", quantity=2, **about)
    shop.wanda.scan("bad_box", "BOX-1", kind="wet", photo=PHOTO, **about)
    shop.wanda.scan("driver_gone", **about)
    for box, serial in (("BOX-1", "A1"), ("BOX-2", "B2")):
        shop.wanda.scan("receive", box, target="DOCK", **{"with": element_string(serial)}, **about)

    assert "Box BOX-1: wet. It goes on the driver's slip." in [
        link.sentence for link in chain("BOX-1").links
    ]
    assert [(hold.place.code, hold.reason) for hold in Hold.objects.all()] == [
        ("BOX-1", "wet when it came")
    ]
    assert clean()


def test_a_refused_box_goes_back_with_all_that_is_in_it(shop: Firm) -> None:
    """Before the driver goes; after that it can only be told as bad."""
    delivery = begin(shop, boxes=2)
    about = {"subject": delivery.subject}
    shop.wanda.scan("count_boxes", quantity=2, **about)
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")}, **about)
    refused = shop.wanda.scan("refuse_box", "BOX-1", kind="open", **about)
    slip = door(delivery).slip
    shop.wanda.scan("driver_gone", **about)
    late = shop.wanda.scan("refuse_box", "BOX-2", kind="open", **about)

    assert refused.verdict == "problem"
    assert slip[1] == "1 box not accepted: torn open or taped again."
    assert shop.unit("A1").place == Place.objects.get(kind="carrier")
    assert Place.objects.get(code="BOX-1").parent == Place.objects.get(kind="carrier")
    assert late.verdict == "stopped"
    assert clean()


def test_a_second_count_takes_the_place_of_the_first_and_an_undo_withdraws(shop: Firm) -> None:
    """Only the latest count asks anything of anybody; with it undone the one before stands."""
    about = {"subject": begin(shop).subject}
    shop.wanda.scan("count_boxes", quantity=1, **about)
    again = shop.wanda.scan("count_boxes", quantity=2, **about)
    open_now = [claim.words for claim in open_ones()]
    shop.wanda.scan("undo", reverses=again.id)
    assert open_now == ["2 of 3 boxes, 1 missing."]
    assert [claim.words for claim in open_ones()] == ["1 of 3 boxes, 2 missing."]
    assert Finding.objects.get(kind="missing", answer=None).quantity == 2

    shop.wanda.scan("count_boxes", quantity=3, **about)

    assert not open_ones().exists()
    assert not Finding.objects.filter(kind="missing", answer=None).exists()
    assert clean()


def test_damage_found_later_has_the_clock_for_hidden_damage(shop: Firm) -> None:
    """Within seven days the carrier is told; afterwards the sentence says that time is over."""
    delivery = begin(shop)
    about = {"subject": delivery.subject}
    shop.wanda.scan("count_boxes", quantity=3, **about)
    shop.wanda.scan("driver_gone", **about)
    soon = shop.wanda.line("bad_box", "BOX-1", kind="tilted", photo=PHOTO, **about)
    late = shop.wanda.line("bad_box", "BOX-2", kind="shock", photo=PHOTO, **about)
    person = shop.wanda.person
    first = intake.take(person, [soon], NOW + timedelta(days=6))[0]
    second = intake.take(person, [late], NOW + timedelta(days=8))[0]

    assert first.sentence == "Box BOX-1: tilt mark has changed. Tell Swift Road."
    assert "ended on 2 Dec (CMR article 30): ask the supplier" in second.sentence
    assert {claim.about for claim in Claim.objects.all()} == {"hidden"}
    assert "Boxes whole outside." in door(delivery).slip  # what was signed stays


def test_a_claim_is_told_and_closed_by_events(shop: Firm) -> None:
    """A clock stops when they were told that way; a closed claim stays closed."""
    about = {"subject": begin(shop).subject}
    shop.wanda.scan("bad_box", "BOX-1", kind="wet", photo=PHOTO, **about)
    claim = Claim.objects.get()
    before = [due.how for due in claims_due()[0].due]
    shop.wanda.scan("claim_told", kind="phone", reason="case 17", subject=claim.subject)
    after = [due.how for due in claims_due()[0].due]
    nothing = shop.wanda.scan("claim_end", kind="dropped", subject=claim.subject)
    ended = shop.mona.scan("claim_end", kind="credited", subject=claim.subject)
    again = shop.wanda.scan("claim_told", kind="writing", subject=claim.subject)

    assert (before, after) == (["phone", "writing"], ["writing"])
    assert (nothing.verdict, nothing.sentence) == ("stopped", "Say why.")
    assert ended.verdict == "applied"
    assert again.sentence == f"Claim {claim.code} is closed."
    assert claims_due() == []
    assert ClaimStep.objects.count() == 2
    assert clean()


def test_one_bag_is_opened_counted_and_noted(shop: Firm) -> None:
    """What this bag lacks never came; the supplier is asked for it; a right bag asks nothing."""
    about = {"subject": begin(shop).subject}
    shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=40, **about)
    right = shop.wanda.scan("sample_bag", BRACKETS, quantity=4, **about)
    short = shop.wanda.scan("sample_bag", BRACKETS, quantity=3, **about)

    assert (right.verdict, short.verdict) == ("applied", "problem")
    assert short.sentence.startswith("A bag of Bracket says 4, holds 3.")
    assert Movement.objects.get(to_place__kind="supplier").quantity == 1
    assert Claim.objects.get().about == "shortage"
    shop.wanda.scan("undo", reverses=short.id)
    assert shop.dock.holdings.get().quantity == 40
    assert clean()


@pytest.mark.parametrize("step", ["count_boxes", "bad_box", "driver_gone", "sample_bag"])
def test_a_delivery_has_to_be_named(shop: Firm, step: str) -> None:
    """One that is not known stops the act; the event is kept."""
    done = shop.wanda.scan(step, subject="delivery:D99", quantity=1, kind="wet", photo=PHOTO)

    assert (done.verdict, done.sentence) == ("stopped", "Say which delivery this is about.")
    refused = shop.tariq.scan(step, subject="delivery:D99")
    assert refused.kind == "not_allowed"
