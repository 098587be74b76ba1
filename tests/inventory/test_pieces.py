"""Reels, opened packs, remnants; counts by bag, weight and mark; bins that are empty."""

from datetime import date

import pytest

from inventory import audit
from inventory.labelling import label_of
from inventory.models import Finding, Holding, Item, ItemCode, Lot
from inventory.moving import nameless
from inventory.queries import held, stock_at
from inventory.scanning import resolve
from tests.firm import Firm

BRACKETS, CABLE = "09521234000020", "09521234000075"
LABEL = "]C10109521234000037"  # sealant


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


@pytest.fixture
def cable(shop: Firm) -> Item:
    item = Item.objects.create(code="CAB", name="Cable", tracking="length", unit="mm")
    ItemCode.objects.create(item=item, text=CABLE, key=CABLE)
    shop.wanda.scan("receive", CABLE, target="BIN1", quantity=100_000)
    return item


def opened(shop: Firm, cable: Item) -> Lot:
    """A reel of 60 m in bin 1, its far end at 412 m."""
    about = {"target": "BIN1", "kind": "reel", "number": 412, "quantity": 60_000}
    shop.wanda.scan("make_piece", CABLE, **about)
    return Lot.objects.get(parent__item=cable)


def test_an_opened_pack_ends_by_its_days_or_its_batch_and_is_taken_first(shop: Firm) -> None:
    """90 days from 25 November end on 23 February; the batch's own day may come before."""
    Item.objects.filter(code="SEA").update(opened_days=90)
    for number, day in (("LOT7", "270601"), ("LOT8", "261231")):
        text = f"{LABEL}17{day}10{number}"
        shop.wanda.scan("receive", text, target="BIN1", via="symbol", quantity=600_000)
    about = {"via": "symbol", "target": "BIN1", "kind": "opened"}
    first = shop.wanda.scan("make_piece", f"{LABEL}10LOT7", **about)
    second = shop.wanda.scan("make_piece", f"{LABEL}10LOT8", **about)

    seven, eight = Lot.objects.exclude(parent=None).order_by("key")
    assert first.sentence == (
        f"300 ml of Sealant is now an opened pack {seven.number}, use by 23 Feb 2027. "
        "Print its label."
    )
    assert (seven.expires_on, eight.expires_on) == (date(2027, 2, 23), date(2026, 12, 31))
    assert second.verdict == "applied"
    order = [row.lot.number for row in stock_at(shop.bins[0], shop.sealant)]
    assert order == [eight.number, "LOT8", seven.number, "LOT7"]
    assert clean()
    shop.wanda.scan("undo", reverses=first.id)
    assert held(shop.bins[0], Lot.objects.get(key="LOT7")) == 600_000
    assert clean()


def test_a_reel_is_counted_by_its_metre_mark_and_moves_by_its_label(
    shop: Firm, cable: Item
) -> None:
    """Far end 412 m, open end 372 m: 40 m are left, whichever way the marks run."""
    reel = opened(shop, cable)
    by_mark = shop.wanda.scan("count", reel.number, target="BIN1", kind="mark", number=372)
    moved = shop.wanda.scan("put", reel.number, target="BIN2")
    blind = shop.wanda.scan("count", CABLE, target="BIN1", kind="mark", number=10)

    assert by_mark.sentence == "40 m of Cable: the book had 60 m and is put right."
    assert (moved.verdict, held(shop.bins[1], reel)) == ("applied", 40_000)
    assert held(shop.bins[0], nameless(cable)) == 40_000  # what is not on this reel
    assert blind.sentence == "Scan the label of a reel whose far mark is known."
    label = label_of(resolve(reel.number))
    assert (label.code, label.lines) == (reel.number, ("CAB",))
    assert clean()


def test_a_remnant_the_book_lacks_is_labelled_all_the_same(shop: Firm, cable: Item) -> None:
    """The hand wins; a piece needs a length, and is of something that is cut."""
    done = shop.wanda.scan("make_piece", "CAB", target="BIN3", kind="remnant", quantity=2500)
    none = shop.wanda.scan("make_piece", "CAB", target="BIN3", kind="remnant")
    wrong = shop.wanda.scan("make_piece", "BRA", target="BIN3", kind="reel", quantity=5)

    assert done.verdict == "problem"
    assert done.sentence.endswith("The book had no Cable at Bin 3, the hand cut 2.5 m of Cable.")
    assert Holding.objects.get(place=shop.bins[2], quantity=2500).lot.parent == nameless(cable)
    assert none.sentence == "Say how long it is."
    assert wrong.sentence == "Bracket is not cut from a reel."
    assert clean()


@pytest.mark.parametrize(
    ("fields", "counted"),
    [
        ({"kind": "bags", "number": 5, "quantity": 3}, 23),  # a bag says four
        ({"kind": "bags", "number": 0, "quantity": 3}, 3),
        ({"kind": "bags", "number": 6}, 24),
        # Ten weigh 40 g, all 88 g: 22; half a gram either way cannot tell 22 from 23 by its spread.
        ({"kind": "weight", "number": 40, "quantity": 88}, 22),
        ({"kind": "weight", "number": 400, "quantity": 4000}, 100),
    ],
)
def test_bags_and_weights_are_counts(shop: Firm, fields: dict[str, int], counted: int) -> None:
    """The book is set to what they amount to."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=60)
    done = shop.wanda.scan("count", BRACKETS, target="BIN1", **fields)

    assert done.verdict == "applied"
    assert held(shop.bins[0], nameless(shop.bracket)) == counted


def test_within_what_a_scale_can_tell_the_book_stands(shop: Firm) -> None:
    """1,000 g at 40 g for ten is 250, give or take four: 247 in the book is as good, 240 not.

    By hand: 10 x 1000.5 / 39.5 = 253.3 and 10 x 999.5 / 40.5 = 246.8.
    """
    weighed = {"target": "BIN1", "kind": "weight", "number": 40, "quantity": 1000}
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=247)
    same = shop.wanda.scan("count", BRACKETS, **weighed)
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=240)
    other = shop.wanda.scan("count", BRACKETS, **weighed)
    light = shop.wanda.scan("count", BRACKETS, **{**weighed, "number": 19})

    assert same.sentence == "247 x Bracket: as the book has it."
    assert other.sentence == "250 x Bracket: the book had 240 and is put right."
    assert light.sentence == "Ten of them weigh under 20 g: too light to count by weight."


def test_an_empty_bin_asks_once_and_is_answered_by_what_is_put_there(shop: Firm) -> None:
    """Only what is used up from the shelf is kept so."""
    ties = Item.objects.create(code="TIE", name="Tie", tracking="supply")
    asked = [shop.wanda.scan("empty_bin", "TIE", target="BIN1").verdict for _ in range(2)]
    wrong = shop.wanda.scan("empty_bin", "BRA", target="BIN1")
    assert (asked, wrong.verdict) == (["applied", "noted"], "stopped")
    open_ones = Finding.objects.filter(kind="refill", answer=None)
    assert open_ones.get().item == ties

    shop.wanda.scan("receive", "TIE", target="BIN2", quantity=100)
    assert open_ones.count() == 1
    shop.wanda.scan("put", "TIE", target="BIN1", start="BIN2", quantity=100)

    assert open_ones.count() == 0
    assert clean()


def test_a_scanned_batch_is_the_batch_that_moves(shop: Firm) -> None:
    """Not the one that expires first; what it lacks there comes from the others."""
    for number, day in (("LOTA", "270331"), ("LOTB", "270630")):
        text = f"{LABEL}17{day}10{number}"
        shop.wanda.scan("receive", text, target="BIN1", via="symbol", quantity=1000)
    text = f"{LABEL}10LOTB"
    shop.wanda.scan("put", text, via="symbol", target="BIN2", start="BIN1", quantity=1500)

    there = Holding.objects.filter(place=shop.bins[1]).values_list("lot__key", "quantity")
    assert dict(there) == {"LOTA": 500, "LOTB": 1000}
    assert clean()


def test_a_reel_cut_elsewhere_than_the_book_has_it_is_booked_where_the_hand_is(
    shop: Firm, cable: Item
) -> None:
    """The whole reel comes from bin 1 to bin 3 where it was cut, and somebody is told."""
    reel = opened(shop, cable)
    done = shop.wanda.scan("make_piece", reel.number, target="BIN3", kind="remnant", quantity=2500)

    piece = Lot.objects.get(parent=reel)
    places = [held(place, reel) for place in shop.bins]
    told = Finding.objects.get(event__uid=done.id)
    words = f"Cable {reel.number} was at Bin 3, the book said Bin 1."
    assert (done.verdict, told.words, told.place) == ("problem", words, shop.bins[2])
    assert done.sentence.endswith(f"Print its label. {words}")
    assert places == [0, 0, 57_500]
    assert held(shop.bins[2], piece) == 2500
    assert clean()
    shop.wanda.scan("undo", reverses=done.id)
    assert held(shop.bins[0], reel) == 60_000
    assert clean()


def test_of_a_batch_only_what_was_cut_comes_from_the_other_shelf(shop: Firm, cable: Item) -> None:
    """Of a batch of 100 m 95 m may well lie where the book has them; beyond it is counted."""
    Item.objects.filter(code="CAB").update(tracking="lot")
    batch = f"]C101{CABLE}10REEL9"
    shop.wanda.scan("receive", batch, target="BIN1", via="symbol", quantity=100_000)
    lot = Lot.objects.get(key="REEL9")
    about = {"target": "BIN2", "kind": "remnant", "via": "symbol"}
    shop.wanda.scan("make_piece", batch, quantity=5000, **about)
    beyond = shop.wanda.scan("make_piece", batch, quantity=97_000, **about)

    assert held(shop.bins[0], lot) == 0
    kinds = list(Finding.objects.order_by("pk").values_list("kind", flat=True))
    assert kinds == ["surplus", "surplus", "count"]
    assert beyond.sentence.endswith(
        "Cable REEL9 was at Bin 2, the book said Bin 1. "
        "The book had 95 m of Cable at Bin 2, the hand cut 97 m of Cable."
    )
    assert clean()
