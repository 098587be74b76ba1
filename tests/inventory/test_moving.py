"""The only writer of stock: what it refuses, what it pays back, what an undo puts back."""

import json
from collections.abc import Callable

import pytest

from inventory import audit, intake
from inventory.intake import Act, Verdict
from inventory.models import ContainerMove, Finding, Hold, Holding, Kept, Place, Unit, UnitAlias
from inventory.moving import CannotMove, Writing, nameless
from inventory.queries import held
from tests.firm import Firm, element_string

MODULE, BRACKETS = element_string("A1"), "09521234000020"


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def stock(firm: Firm, place: Place) -> int:
    """Brackets at a place."""
    return held(place, nameless(firm.bracket))


@pytest.fixture
def acting(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    """Carry out a piece of writing as an event of Wanda's; returns the sentence."""

    def run(work: Callable[[Writing], object], text: str = "") -> str:
        def apply(writes: Writing) -> Verdict:
            work(writes)
            return Verdict("applied", "Done.")

        act = Act("do", frozenset({"warehouse"}), apply)
        monkeypatch.setitem(intake.ACTS, "do", act)
        return shop.wanda.scan("do", text).sentence

    return run


def test_a_unit_believed_elsewhere_is_not_moved(shop: Firm, acting: Callable[..., str]) -> None:
    """I6: compare and set: an old copy of the row moves nothing, whoever holds the lock."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    old = shop.unit("A1")
    shop.wanda.scan("put", MODULE, target="BIN1")
    sentence = acting(lambda writes: writes.unit(old, shop.bins[1]))

    assert sentence == "Module A1 was moved by somebody else just now."
    assert shop.unit("A1").place == shop.bins[0]
    assert clean()


def test_more_than_there_is_does_not_move(shop: Firm, acting: Callable[..., str]) -> None:
    """A quantity of a batch is all there or none of it moves."""
    shop.wanda.scan("receive", BRACKETS, target="DOCK")
    lot = nameless(shop.bracket)
    sentence = acting(lambda writes: writes.lot(lot, shop.dock, shop.van, 5))

    assert sentence == "BRA: 5 asked for at Dock, the book has 4."
    assert (stock(shop, shop.dock), stock(shop, shop.van)) == (4, 0)


def test_the_hand_beats_the_book_and_one_count_is_asked_for(shop: Firm) -> None:
    """Ten taken where the book had four: they go along, and one question stands open."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=4)
    first = shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=10)
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=2)

    assert first.verdict == "problem"
    assert (stock(shop, shop.bins[0]), stock(shop, shop.van)) == (0, 12)
    asked = Finding.objects.get()
    assert (asked.kind, asked.place, asked.quantity) == ("count", shop.bins[0], 6)
    assert asked.words == "Count Bracket at Bin 1: the book had 4, the hand took 10."
    assert clean()


def test_where_nothing_was_counted_no_count_is_asked_for(shop: Firm) -> None:
    """Before its first count an item is not kept there: nobody is asked."""
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=10)

    assert not Finding.objects.filter(kind="count").exists()
    assert stock(shop, shop.van) == 10


def test_a_count_answers_the_question(shop: Firm) -> None:
    """The finding is settled with what was counted."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=4)
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=10)
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=3)

    assert Finding.objects.get().answer.words == "Counted: 3."
    assert stock(shop, shop.bins[0]) == 3


def test_an_arrival_pays_back_what_was_taken_before_it_was_booked(shop: Firm) -> None:
    """Ten were taken from a delivery nobody had booked; of its fifty forty are on the dock."""
    shop.wanda.scan("put", BRACKETS, start="DOCK", target="VAN1", quantity=10)
    shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=50)
    again = shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=50)

    assert again.verdict == "applied"
    assert (stock(shop, shop.dock), stock(shop, shop.van)) == (90, 10)
    assert clean()


def test_a_batch_pays_back_for_its_item(shop: Firm) -> None:
    """The debt is the item's: sealant taken without a batch is paid by the batch that arrives."""
    sealant = "09521234000037"
    shop.wanda.scan("put", sealant, start="DOCK", target="VAN1")
    for _ in range(2):
        shop.wanda.scan("receive", f"]C101{sealant}10LOT7", target="DOCK", quantity=900_000)

    at_dock = Holding.objects.filter(place=shop.dock, lot__item=shop.sealant)
    assert sum(holding.quantity for holding in at_dock) == 1_500_000


def test_what_a_first_count_finds_is_no_debt(shop: Firm) -> None:
    """A hundred on the shelf on the first day; the first delivery of fifty is fifty."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=100)
    shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=50)

    assert (stock(shop, shop.bins[0]), stock(shop, shop.dock)) == (100, 50)


def test_what_was_missing_in_one_bin_is_found_in_another(shop: Firm) -> None:
    """Lost and found meet in `unexplained`: nothing of it stays there."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=10)
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=4)
    shop.wanda.scan("count", BRACKETS, target="BIN2", quantity=7)

    rows = Holding.objects.exclude(quantity=0).values_list("place__code", "quantity")
    assert dict(rows) == {"BIN1": 4, "BIN2": 7, "ELSEWHERE": -11}
    assert clean()


def test_an_undo_takes_back_an_arrival_that_paid_a_debt(shop: Firm) -> None:
    """The part that was paid comes back first, then the whole delivery leaves."""
    shop.wanda.scan("put", BRACKETS, start="DOCK", target="VAN1", quantity=10)
    before = dict(Holding.objects.exclude(quantity=0).values_list("place__code", "quantity"))
    event = shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=12).id
    undone = shop.wanda.scan("undo", reverses=event)

    after = dict(Holding.objects.exclude(quantity=0).values_list("place__code", "quantity"))
    assert (undone.verdict, after) == ("applied", before)
    assert clean()


def test_an_event_is_undone_once(shop: Firm) -> None:
    """I12: the second undo changes nothing; an undo itself cannot be undone."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    event = shop.wanda.scan("put", MODULE, target="BIN1").id
    first = shop.wanda.scan("undo", reverses=event)
    second = shop.wanda.scan("undo", reverses=event)
    third = shop.wanda.scan("undo", reverses=first.id)

    assert [first.verdict, second.verdict, third.verdict] == ["applied", "noted", "stopped"]
    assert second.sentence == "That was undone before."
    assert shop.unit("A1").place == shop.dock
    assert clean()


def test_what_has_moved_on_is_not_undone(shop: Firm) -> None:
    """Nothing of the undo stays: not even the part that could have been put back."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    event = shop.wanda.scan("put", MODULE, target="BIN1").id
    shop.wanda.scan("put", MODULE, target="BIN2")
    undone = shop.wanda.scan("undo", reverses=event)

    assert (undone.verdict, undone.sentence) == ("stopped", "Module A1 has moved on since.")
    assert shop.unit("A1").place == shop.bins[1]
    assert shop.wanda.scan("undo", reverses=event).verdict == "stopped"


def test_a_received_box_goes_back_and_comes_again(shop: Firm) -> None:
    """Undone, box and unit stand with the supplier; received again, both are on the dock."""
    more = {"target": "DOCK", "with": MODULE}
    event = shop.wanda.scan("receive", "BOX-1", **more).id
    undone = shop.wanda.scan("undo", reverses=event)
    box = Place.objects.get(code="BOX-1")
    back = (box.parent, shop.unit("A1").place)
    again = shop.wanda.scan("receive", "BOX-1", **more)

    assert undone.verdict == "applied"
    assert [place.kind for place in back if place] == ["supplier", "supplier"]
    assert again.verdict == "applied"
    box.refresh_from_db()
    assert (box.parent, shop.unit("A1").place) == (shop.dock, box)
    assert clean()


def test_an_undone_release_sets_aside_again(shop: Firm) -> None:
    """The hold comes back with its reason."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("set_aside", MODULE, reason="dented")
    event = shop.mona.scan("release", MODULE).id
    shop.mona.scan("undo", reverses=event)

    assert Hold.objects.get(release=None).reason == "dented"


def test_an_undone_count_asks_again_and_is_kept_no_longer(shop: Firm) -> None:
    """What its count settled is open again; of two counts the other one keeps the item."""
    first = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=4)
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=5)
    second = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=2)
    shop.wanda.scan("undo", reverses=second.id)
    open_again = Finding.objects.filter(kind="count", answer=None).count()
    kept = Kept.objects.count()
    third = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=1)
    shop.wanda.scan("undo", reverses=third.id)
    stopped = shop.wanda.scan("undo", reverses=first.id)

    assert (open_again, kept) == (1, 1)
    assert stopped.verdict == "stopped"  # those four went to the van
    assert clean()


def test_only_own_events_are_undone_by_a_technician(shop: Firm) -> None:
    """Whose event it is not is told nothing about it."""
    event = shop.wanda.scan("receive", MODULE, target="DOCK").id
    answer = shop.tariq.scan("undo", reverses=event)

    assert (answer.verdict, answer.sentence) == ("refused", "No such event.")


def test_what_only_a_manager_may_do_only_a_manager_undoes(shop: Firm) -> None:
    """A release undone is a thing set aside: not the warehouse's to decide."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("set_aside", MODULE, reason="dented")
    event = shop.mona.scan("release", MODULE).id

    assert shop.wanda.scan("undo", reverses=event).sentence == "You may not do this."


def test_a_box_moves_with_all_that_is_in_it(shop: Firm) -> None:
    """One container move; the unit's own place stays the box."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    shop.wanda.scan("put", "BOX-1", target="BIN1")

    unit = shop.unit("A1")
    assert unit.place is not None
    assert [place.code for place in unit.place.way_up()] == ["BOX-1", "BIN1", "DEPOT"]
    assert ContainerMove.objects.count() == 2


def test_a_box_stands_neither_in_itself_nor_too_deep(
    shop: Firm, acting: Callable[..., str]
) -> None:
    """Five levels, counted with what stands in the box."""
    boxes = [
        Place.objects.create(kind="carton", code=f"C{n}", name=f"Box {n}", parent=shop.dock)
        for n in range(4)
    ]
    for inner, outer in ((boxes[1], boxes[0]), (boxes[2], boxes[1])):
        assert acting(lambda writes, i=inner, o=outer: writes.container(i, o)) == "Done."
    fresh = Place.objects.get(pk=boxes[2].pk)

    assert acting(lambda w: w.container(boxes[0], fresh)) == "Box 0 cannot stand in Box 2."
    assert acting(lambda w: w.container(boxes[0], boxes[3])) == "Box 0 cannot stand in Box 3."
    assert acting(lambda w: w.container(shop.bins[0], shop.dock)).startswith("Bin 1 is a bin")


def test_a_label_of_another_unit_is_not_taken_over(shop: Firm, acting: Callable[..., str]) -> None:
    """Nothing is merged in silence."""
    for serial in ("A1", "B2"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    first, second = shop.unit("A1"), shop.unit("B2")
    acting(lambda writes: writes.link(first, UnitAlias.Kind.OWN, "LBU0000077", "LBU0000077"))
    sentence = acting(lambda w: w.link(second, UnitAlias.Kind.OWN, "LBU0000077", "LBU0000077"))

    assert sentence == "LBU0000077 is the label of another unit."
    assert UnitAlias.objects.get().unit == first


def test_a_movement_that_is_none_is_a_fault_of_ours(shop: Firm) -> None:
    """A quantity below one never comes from a person: the line refuses it."""
    shop.wanda.scan("receive", BRACKETS, target="DOCK")
    event = shop.wanda.scan("put", BRACKETS, start="DOCK", target="BIN1", quantity=1)
    writes = Writing.__new__(Writing)

    with pytest.raises(ValueError, match="quantity: expected 1 or more, got 0"):
        writes.lot(nameless(shop.bracket), shop.dock, shop.van, 0)
    with pytest.raises(CannotMove):
        writes.lot(nameless(shop.bracket), shop.dock, shop.dock, 1)
    assert json.loads(shop.wanda.sent[-1])["id"] == event.id
    assert not Unit.objects.exists()
