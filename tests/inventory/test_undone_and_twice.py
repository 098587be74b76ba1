"""What is undone, told twice or late at goods-in: no unit doubled, no clock stopped."""

import pytest

from inventory import audit, deliveries, intake, ordering, serial_lists
from inventory.arrivals import compared, door
from inventory.claims import open_ones
from inventory.delivery_lists import claims_due, delivery_list
from inventory.intake import Act, Verdict
from inventory.models import Claim, Delivery, Finding, Hold, Place, Unit
from inventory.moving import Writing, outside
from tests.firm import MODULE_GTIN, NOW, Firm, element_string
from tests.inventory.deliveries import PHOTO, begin

pytestmark = pytest.mark.django_db
OWED = {"with": MODULE_GTIN, "target": "DOCK", "kind": "owed"}
NAMED = {"with": element_string("A1"), "target": "DOCK"}


def whole() -> bool:
    return not [check for check in audit.run() if check.problems]


def test_a_telling_undone_starts_the_clock_again(shop: Firm) -> None:
    """The claim is due as before; after its end the telling stays."""
    about = {"subject": begin(shop).subject}
    shop.wanda.scan("count_boxes", quantity=2, **about)
    claim = Claim.objects.get()
    before = claims_due()[0].due
    told = shop.wanda.scan("claim_told", kind="writing", subject=claim.subject)
    assert claims_due()[0].due != before
    shop.wanda.scan("undo", reverses=told.id)
    assert claims_due()[0].due == before

    told = shop.wanda.scan("claim_told", kind="writing", subject=claim.subject)
    shop.wanda.scan("claim_end", kind="credited", subject=claim.subject)
    assert delivery_list()[0].open_claims == 0
    assert shop.wanda.scan("undo", reverses=told.id).verdict == "stopped"
    assert whole()


def test_an_older_count_undone_opens_no_second_claim(shop: Firm) -> None:
    """The latest count holds, and it has its claim already."""
    about = {"subject": begin(shop).subject}
    older = shop.wanda.scan("count_boxes", quantity=1, **about)
    shop.wanda.scan("count_boxes", quantity=2, **about)
    shop.wanda.scan("undo", reverses=older.id)

    assert open_ones().count() == 1


@pytest.mark.parametrize("first", [NAMED, OWED])
def test_a_box_scanned_again_as_owed_enters_nothing(shop: Firm, first: dict[str, str]) -> None:
    """A second device knows the box without its serial: one unit stays one unit."""
    shop.wanda.scan("receive", "BOX-1", **first)
    shop.wanda.scan("receive", "BOX-1", **NAMED)
    again = shop.wanda.scan("receive", "BOX-1", **OWED)

    assert again.verdict == "noted"
    assert [unit.serial for unit in Unit.objects.all()] == ["A1"]
    assert whole()


def test_undoing_a_scan_that_did_nothing_erases_nothing(shop: Firm) -> None:
    """The serial was given by another event, and stays."""
    shop.wanda.scan("receive", "BOX-1", **OWED)
    named = shop.wanda.scan("receive", "BOX-1", **NAMED)
    again = shop.wanda.scan("receive", "BOX-1", **NAMED)
    shop.wanda.scan("undo", reverses=again.id)
    assert Unit.objects.get().serial == "A1"

    shop.wanda.scan("put", element_string("A1"), target="BIN1")
    late = shop.wanda.scan("undo", reverses=named.id)
    assert (late.verdict, Unit.objects.get().serial) == ("stopped", "A1")


def test_a_bad_box_is_known_by_its_code_however_it_was_read(shop: Firm) -> None:
    """Told by camera with the reader's prefix, or refused and yet scanned in: set aside."""
    about = {"subject": begin(shop, boxes=3).subject}
    shop.wanda.scan("count_boxes", quantity=3, **about)
    shop.wanda.scan("bad_box", "]C0BOX-1", kind="wet", photo=PHOTO, **about)
    shop.wanda.scan("receive", "BOX-1", **NAMED, **about)
    assert Hold.objects.count() == 1
    shop.wanda.scan("refuse_box", "BOX-2", kind="wet", **about)
    more = {"with": element_string("A2"), "target": "DOCK"}
    shop.wanda.scan("receive", "BOX-2", **more, **about)
    assert Hold.objects.count() == 2
    assert door(Delivery.objects.get()).refused


@pytest.mark.parametrize("scanned_in", [False, True])
def test_two_people_refuse_one_box_at_the_same_time(shop: Firm, scanned_in: bool) -> None:
    """One box goes back, one problem and one claim are opened; two boxes without a code are two."""
    about = {"subject": begin(shop, boxes=4).subject}
    shop.wanda.scan("count_boxes", quantity=4, **about)
    if scanned_in:
        shop.wanda.scan("receive", "BOX-1", **NAMED, **about)
    other = shop.phone(shop.mona.person)
    first = shop.wanda.scan("refuse_box", "BOX-1", kind="wet", **about)
    second = other.scan("refuse_box", "]C0BOX-1", kind="open", **about)

    assert (first.verdict, second.verdict) == ("problem", "noted")
    assert second.sentence == (
        "Box ]C0BOX-1 was not accepted before. It goes back with the driver."
    )
    assert (len(door(Delivery.objects.get()).refused), Claim.objects.count()) == (1, 1)
    for phone in (shop.wanda, other):
        phone.scan("refuse_box", kind="wet", **about)
    assert (len(door(Delivery.objects.get()).refused), Claim.objects.count()) == (3, 3)
    assert whole()


def test_two_people_tell_of_one_bad_box(shop: Firm) -> None:
    """One problem, one claim, one box on the slip; another fault of it is told as well."""
    about = {"subject": begin(shop, boxes=3).subject, "photo": PHOTO}
    shop.wanda.scan("count_boxes", quantity=3, subject=about["subject"])
    told = [
        phone.scan("bad_box", "BOX-1", kind=kind, **about).verdict
        for phone, kind in ((shop.wanda, "wet"), (shop.mona, "wet"), (shop.mona, "crushed"))
    ]

    assert told == ["problem", "noted", "problem"]
    assert (Claim.objects.count(), Finding.objects.filter(kind="damaged").count()) == (2, 2)
    assert whole()


def test_a_stray_quotation_mark_costs_one_line(shop: Firm) -> None:
    """Lines are not run together to one serial; a monster of a cell breaks nothing."""
    judged = serial_lists.judge('MOD;"S1\nMOD;S2\nMOD;S3')
    assert judged.rows == ()
    assert len(judged.errors) == 1
    assert len(serial_lists.judge("MOD;S1\nMOD;S2\nMOD;S3").rows) == 3
    assert serial_lists.judge("MOD;" + "b" * 140_000).rows == ()


def test_what_the_book_had_gone_opens_a_problem_when_the_file_brings_it(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is in the hand, so it comes in; that the book was wrong is said."""

    def scrap(writes: Writing) -> Verdict:
        assert writes.thing.unit is not None
        writes.unit(writes.thing.unit, outside("scrap"))
        return Verdict("applied", "Scrapped.")

    monkeypatch.setitem(intake.ACTS, "scrap", Act("scrap", frozenset({"warehouse"}), scrap))
    shop.wanda.scan("receive", element_string("L1"), target="BIN1")
    shop.wanda.scan("scrap", element_string("L1"))
    delivery = begin(shop)
    deliveries.enter_list(delivery, serial_lists.judge("MOD;L1;BOX-1").rows)
    done = shop.wanda.scan("receive", "BOX-1", target="DOCK", subject=delivery.subject)

    assert done.verdict == "problem"
    assert "the book had it gone" in done.sentence
    assert Finding.objects.filter(unit__serial="L1").exists()


def test_a_bad_box_that_is_refused_after_all_is_claimed_once(shop: Firm) -> None:
    """What went back with the driver did not come: it stays on order, until that is undone."""
    delivery = begin(shop, boxes=2)
    ordering.enter(
        shop.mona.person,
        NOW,
        supplier=delivery.supplier,
        item=shop.module,
        quantity=1,
        promised_on=NOW.date(),
    )
    about = {"subject": delivery.subject}
    shop.wanda.scan("count_boxes", quantity=2, **about)
    box = {"with": element_string("S1"), "target": "DOCK"}
    assert shop.wanda.scan("receive", "BOX-1", **box, **about).verdict == "applied"
    assert ordering.awaited() == []
    shop.wanda.scan("bad_box", "BOX-1", kind="wet", photo=PHOTO, **about)
    refused = shop.wanda.scan("refuse_box", "BOX-1", kind="wet", **about)
    assert [claim.words for claim in open_ones()] == ["Box BOX-1 not accepted: wet"]
    assert [one.left for one in ordering.awaited()] == [1]
    shop.wanda.scan("undo", reverses=refused.id)
    assert [claim.words for claim in open_ones()] == ["Box BOX-1: wet"]
    assert ordering.awaited() == []
    shop.wanda.scan("refuse_box", "BOX-1", kind="wet", **about)
    assert [claim.words for claim in open_ones()] == ["Box BOX-1 not accepted: wet"]
    assert whole()


def test_of_two_tellings_the_second_counts_when_the_first_is_undone(shop: Firm) -> None:
    """A bad box stays told, claimed and set aside as long as one of the two stands; then no more"""
    delivery = begin(shop, boxes=3)
    about = {"subject": delivery.subject, "photo": PHOTO}
    shop.wanda.scan("count_boxes", quantity=3, subject=delivery.subject)
    shop.wanda.scan("receive", "BOX-1", **NAMED, subject=delivery.subject)
    first = shop.wanda.scan("bad_box", "BOX-1", kind="wet", **about)
    second = shop.mona.scan("bad_box", "]C0BOX-1", kind="wet", **about)
    box = Place.objects.get(code="BOX-1")

    def stands() -> tuple[int, int, int, int]:
        problems = Finding.objects.filter(kind="damaged", answer=None, event__reversed_by=None)
        held = box.holds.filter(release=None, event__reversed_by=None)
        return len(door(delivery).bad), open_ones().count(), problems.count(), held.count()

    assert (second.verdict, stands()) == ("noted", (1, 1, 1, 1))
    shop.mona.scan("undo", reverses=second.id)
    assert stands() == (1, 1, 1, 1)  # the first telling is not touched by that
    third = shop.mona.scan("bad_box", "]C0BOX-1", kind="wet", **about)
    shop.wanda.scan("undo", reverses=first.id)
    assert stands() == (1, 1, 1, 1)
    assert Finding.objects.order_by("-pk")[0].photo == PHOTO
    assert "1 box damaged outside: wet. Photos taken." in door(delivery).slip
    shop.mona.scan("undo", reverses=third.id)
    assert stands() == (0, 0, 0, 0)
    assert whole()


def test_a_box_refused_twice_stays_refused_when_the_first_refusal_is_undone(shop: Firm) -> None:
    """The second refusal is claimed then. One that was scanned in stays away until both are undone.

    An undo only moves back what was moved.
    """
    delivery = begin(shop, boxes=3)
    about = {"subject": delivery.subject}
    shop.wanda.scan("count_boxes", quantity=3, **about)
    first = shop.wanda.scan("refuse_box", "BOX-2", kind="wet", **about)
    second = shop.mona.scan("refuse_box", "]C0BOX-2", kind="open", **about)
    assert shop.wanda.scan("undo", reverses=first.id).verdict == "applied"
    words = [claim.words for claim in open_ones()]
    assert words == ["Box ]C0BOX-2 not accepted: torn open or taped again"]
    assert len(door(delivery).refused) == 1
    shop.mona.scan("undo", reverses=second.id)
    assert (door(delivery).refused, open_ones().count()) == ([], 0)
    assert not Finding.objects.filter(answer=None, event__reversed_by=None).exists()

    shop.wanda.scan("receive", "BOX-1", **NAMED, **about)
    first = shop.wanda.scan("refuse_box", "BOX-1", kind="wet", **about)
    second = shop.mona.scan("refuse_box", "]C0BOX-1", kind="open", **about)
    early = shop.wanda.scan("undo", reverses=first.id)
    assert early.sentence == "Box BOX-1 was refused by Mona too. Undo that first."
    assert (len(door(delivery).refused), open_ones().count()) == (1, 1)
    for done in (second, first):
        shop.wanda.scan("undo", reverses=done.id)
    assert (door(delivery).refused, open_ones().count()) == ([], 0)
    assert Place.objects.get(code="BOX-1").parent == shop.dock
    assert whole()


def test_a_serial_undone_and_scanned_after_all_is_that_of_the_box_that_owes_one(shop: Firm) -> None:
    """One carton, one module: the one that stood in for it is taken out of the book again."""
    delivery = begin(shop, boxes=1)
    about = {"subject": delivery.subject}
    first = shop.wanda.scan("receive", "BOX-1", **NAMED, **about)
    shop.wanda.scan("undo", reverses=first.id)
    shop.wanda.scan("receive", "BOX-1", **OWED, **about)
    shop.wanda.scan("put", "BOX-1", target="BIN1")
    named = shop.wanda.scan("receive", "BOX-1", **NAMED, **about)
    box = Place.objects.get(code="BOX-1")

    assert (named.verdict, named.sentence) == ("applied", "Module A1: the serial it owed.")
    assert ([unit.serial for unit in box.units.all()], box.parent) == (["A1"], shop.bins[0])
    assert (compared(delivery).came, compared(delivery).owed) == (1, ())
    assert shop.wanda.scan("receive", "BOX-1", **NAMED, **about).verdict == "noted"
    assert shop.wanda.scan("receive", "BOX-1", **OWED, **about).verdict == "noted"
    assert whole()
    shop.wanda.scan("undo", reverses=named.id)
    assert [unit.evidence for unit in box.units.all()] == ["owed"]
    assert [unit.evidence for unit in compared(delivery).owed] == ["owed"]
    assert whole()
