"""Picking: shelf to bag, bay and parcel, by scanning."""

import pytest

from inventory import charging
from inventory.models import Finding, Holding, Item, ItemCode, Kept, Lot, Place, Unit
from inventory.queries import held
from kitting import shelves
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.kitting.yard import Yard, about

TIE_CODE = "09521234000044"


def bag(kit: Kit, step: str) -> Place:
    return Package.objects.get(kit=kit, kind="bag", step=step).place


def in_place(place: Place, code: str) -> int:
    holdings = Holding.objects.filter(place=place, lot__item__code=code)
    return sum(holding.quantity for holding in holdings)


def test_a_box_goes_into_the_bay_whole(yard: Yard, kit: Kit) -> None:
    """Its own code or the serial in it: one container move, and twice changes nothing."""
    unit = yard.box("S1")
    first = yard.wanda.scan("pick", "BOX-S1", **about(kit))
    again = yard.wanda.scan("pick", "S1", **about(kit))

    assert (first.verdict, again.verdict) == ("applied", "noted")
    unit.refresh_from_db()
    assert unit.place is not None
    assert unit.place.kind == "carton"
    assert unit.place.parent == Package.objects.get(kit=kit, kind="bay").place
    assert fold(kit).totals["CT-MODULE"].picked == 1


def test_small_parts_go_into_the_bags_of_their_steps(yard: Yard, kit: Kit) -> None:
    """Twelve ties of two steps: four into one bag, eight into the other, from the first bin."""
    yard.shelve("CT-TIE", 5, yard.firm.bins[1])
    yard.shelve("CT-TIE", 20, yard.firm.bins[0])
    done = yard.wanda.scan("pick", "CT-TIE", quantity=12, **about(kit))

    assert done.verdict == "applied"
    assert in_place(bag(kit, "join"), "CT-TIE") == 4
    assert in_place(bag(kit, "connect"), "CT-TIE") == 8
    assert in_place(yard.firm.bins[0], "CT-TIE") == 8
    assert in_place(yard.firm.bins[1], "CT-TIE") == 5


def test_a_named_bag_and_bin_are_obeyed(yard: Yard, kit: Kit) -> None:
    """Target and from say where."""
    yard.shelve("CT-TIE", 20, yard.firm.bins[1])
    to = bag(kit, "connect")
    done = yard.wanda.scan("pick", "CT-TIE", quantity=3, start="BIN2", target=to.code, **about(kit))

    assert done.verdict == "applied"
    assert in_place(to, "CT-TIE") == 3


def test_a_shared_code_adds_its_pack_each_time_it_is_armed(yard: Yard, kit: Kit) -> None:
    """A bag of four scanned twice is eight; the same look at the code counts once."""
    item = fold(kit).totals["CT-TIE"].item
    ItemCode.objects.create(item=item, text=TIE_CODE, key=TIE_CODE, pack_quantity=4)
    yard.shelve("CT-TIE", 40)
    line = yard.wanda.line("pick", TIE_CODE, **about(kit))
    yard.wanda.send(line)
    repeated = yard.wanda.send(line)[0]
    still = yard.wanda.scan("pick", TIE_CODE, rearm=False, **about(kit))
    yard.wanda.scan("pick", TIE_CODE, **about(kit))
    later = yard.wanda.scan(
        "pick", TIE_CODE, rearm=False, at="2026-11-25T06:10:02.000Z", **about(kit)
    )

    assert repeated.duplicate
    assert (still.verdict, later.verdict) == ("noted", "applied")
    assert fold(kit).totals["CT-TIE"].picked == 12


def test_one_too_many_goes_along_and_is_told(yard: Yard, kit: Kit) -> None:
    """The hand wins: the third bracket of two is in the bag, and a problem says so."""
    yard.shelve("CT-BRACKET", 5)
    done = yard.wanda.scan("pick", "CT-BRACKET", quantity=3, **about(kit))

    assert done.verdict == "problem"
    assert Finding.objects.get(kind="surplus").quantity == 1
    assert fold(kit).totals["CT-BRACKET"].picked == 3


def test_a_pick_beyond_the_book_asks_for_a_count_where_the_item_is_kept(
    yard: Yard, kit: Kit
) -> None:
    """What the book lacks comes from `unexplained`; before the first count nobody is bothered."""
    bin_one = yard.firm.bins[0]
    before = yard.wanda.scan("pick", "CT-CLAMP-L", quantity=1, start="BIN1", **about(kit))
    yard.wanda.scan("count", "CT-BRACKET", target="BIN1", quantity=1)
    after = yard.wanda.scan("pick", "CT-BRACKET", quantity=2, start="BIN1", **about(kit))

    assert (before.verdict, after.verdict) == ("applied", "problem")
    assert Kept.objects.filter(place=bin_one).count() == 1
    assert Finding.objects.filter(kind="count", place=bin_one).count() == 1
    assert fold(kit).totals["CT-BRACKET"].picked == 2


def test_a_cut_length_is_the_rest_of_its_line(yard: Yard, kit: Kit) -> None:
    """One scan of the reel takes what the line needs, into the bay."""
    yard.shelve("CT-AC4", 50_000)
    yard.wanda.scan("pick", "CT-AC4", **about(kit))
    more = yard.wanda.scan("pick", "CT-AC4", **about(kit))

    assert fold(kit).totals["CT-AC4"].picked == 5200
    assert (more.verdict, more.sentence[:15]) == ("stopped", "Say how many mm")
    bay = Package.objects.get(kit=kit, kind="bay").place
    assert in_place(bay, "CT-AC4") == 5200


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("BIN1", "Scan the thing itself"),
        ("CT-MODULE", "followed by serial"),
    ],
)
def test_a_wrong_scan_is_stopped_and_moves_nothing(
    yard: Yard, kit: Kit, text: str, words: str
) -> None:
    """A bin, an article number of a thing with serial."""
    done = yard.wanda.scan("pick", text, **about(kit))

    assert done.verdict == "stopped"
    assert words in done.sentence
    assert not fold(kit).others


def test_what_is_on_no_line_goes_along_is_told_and_goes_back(yard: Yard, kit: Kit) -> None:
    """The hand wins: it stands in the bay and on the list of what goes back; more of it, too."""
    one = yard.wanda.scan("pick", "BRA", **about(kit))
    more = yard.wanda.scan("pick", "BRA", quantity=2, **about(kit))

    words = f"Bracket is not in {kit.code}. Put it back, or tell the office why it goes along."
    assert (one.verdict, one.sentence) == ("problem", f"1 x Bracket picked. {words}")
    assert more.sentence == f"2 x Bracket picked. {words}"
    told = Finding.objects.filter(kind="surplus", subject=kit.subject, answer=None)
    assert list(told.order_by("pk").values_list("words", "quantity")) == [(words, 1), (words, 2)]
    bay = Package.objects.get(kit=kit, kind="bay").place
    assert in_place(bay, "BRA") == 3
    assert [total.left_over for total in fold(kit).to_put_back] == [3]
    yard.wanda.scan("put_back", "BRA", target="BIN1", **about(kit))
    assert fold(kit).to_put_back == []


def test_what_is_set_aside_is_stopped(yard: Yard, kit: Kit) -> None:
    """A hold on the unit stops its box as well."""
    yard.box("S1")
    yard.mona.scan("set_aside", "S1", reason="recall 7")
    done = yard.wanda.scan("pick", "BOX-S1", **about(kit))

    assert (done.verdict, "set aside: recall 7" in done.sentence) == ("stopped", True)


def test_a_batch_that_is_set_aside_is_stopped_also_by_the_article_number(
    yard: Yard, kit: Kit
) -> None:
    """Its label, or the shelf's where it lies; the other batch is picked as usual."""
    gtin = "09521234000044"
    ItemCode.objects.create(item=Item.objects.get(code="CT-ANCH75"), text=gtin, key=gtin)
    bad, good = (f"]C101{gtin}10{number}" for number in ("BAD", "GOOD"))
    for label in (bad, good):
        yard.wanda.scan("receive", label, via="symbol", target="BIN1", quantity=50)
    yard.mona.scan("set_aside", bad, reason="soft", via="symbol")
    said = [
        yard.wanda.scan("pick", text, via="symbol", start="BIN1", quantity=1, **about(kit))
        for text in (bad, gtin, good)
    ]

    assert [done.verdict for done in said] == ["stopped", "stopped", "applied"]
    assert all("set aside: soft" in done.sentence for done in said[:2])


def test_a_unit_packed_for_another_kit_is_a_clash_for_a_person(yard: Yard, kit: Kit) -> None:
    """Nothing moves, both kits show a dispute, and the desk is told which kit it is."""
    other = yard.kit()
    unit = yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(other))
    clash = yard.wanda.scan("pick", "BOX-S1", **about(kit))

    assert clash.verdict == "dispute"
    assert other.code in clash.sentence
    unit.refresh_from_db()
    assert unit.place is not None
    assert unit.place.within("bay") == Package.objects.get(kit=other, kind="bay").place
    assert fold(kit).totals["CT-MODULE"].dispute == 1
    assert fold(other).totals["CT-MODULE"].dispute == 1


def test_a_serial_nobody_received_is_provisional(yard: Yard, kit: Kit) -> None:
    """It goes along with a problem; goods-in has to confirm it."""
    done = yard.wanda.scan("pick", yard.label("NEW1"), **about(kit))

    assert done.verdict == "problem"
    assert Unit.objects.get(serial="NEW1").provisional


def test_undo_puts_it_back(yard: Yard, kit: Kit) -> None:
    """One tap."""
    yard.shelve("CT-BRACKET", 2)
    done = yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    back = yard.wanda.scan("undo", reverses=done.id)

    assert back.verdict == "applied"
    assert fold(kit).totals["CT-BRACKET"].picked == 0
    lot = Lot.objects.get(item__code="CT-BRACKET")
    assert held(yard.firm.bins[0], lot) == 2


def test_a_late_pick_of_a_quantity_only_puts_the_shelf_right(yard: Yard, kit: Kit) -> None:
    """Loaded first without a pick: marked; the pick that comes later fills the mark."""
    yard.shelve("CT-AC4", 9000)
    early = yard.tariq.scan("load", "CT-AC4", quantity=5200, **about(kit))
    late = yard.wanda.scan("pick", "CT-AC4", quantity=5200, start="BIN1", **about(kit))

    assert (early.verdict, late.verdict) == ("problem", "noted")
    assert not Finding.objects.filter(kind="skipped", answer=None).exists()
    assert in_place(yard.firm.bins[0], "CT-AC4") == 3800
    assert fold(kit).totals["CT-AC4"].picked == 5200


def test_what_has_to_be_charged_first_is_stopped_at_picking(yard: Yard, kit: Kit) -> None:
    """Until a manager lets it through; the one due first is proposed first."""
    module = Item.objects.get(code="CT-MODULE")
    charging.set_rule(module, up_to_c=25, days=300, recharges=None, years=None, source="manual")
    for serial, day in (("S1", "2026-10-01"), ("S2", "2026-09-01"), ("S3", "2025-01-01")):
        yard.box(serial)
        yard.wanda.scan("charged", f"BOX-{serial}", kind=day)
    proposed = [spot.unit.serial for spot in shelves.on_shelves([module.pk])[module.pk]]
    stopped = yard.wanda.scan("pick", "BOX-S3", **about(kit))
    yard.mona.scan("let_through", "S3", reason="measured")
    picked = yard.wanda.scan("pick", "BOX-S3", **about(kit))

    assert proposed == ["S2", "S1"]
    assert stopped.sentence.startswith("battery module S3 has had to be charged since 28 Oct 2025")
    assert (stopped.verdict, picked.verdict) == ("stopped", "applied")


def test_a_reel_s_own_label_takes_what_the_line_needs(yard: Yard, kit: Kit) -> None:
    """The maker's label says 50 m: no crew takes the reel along. With all packed it is asked."""
    line = kit.lines.get(item__code="CT-AC4")
    ItemCode.objects.create(item=line.item, text="R50", key="R50", pack_quantity=50_000)
    yard.shelve("CT-AC4", 50_000)
    done = yard.wanda.scan("pick", "R50", start="BIN1", **about(kit))
    more = yard.wanda.scan("pick", "R50", start="BIN1", **about(kit))

    assert done.verdict == "applied", done.sentence
    assert fold(kit).totals["CT-AC4"].picked == line.quantity
    assert (more.verdict, more.sentence) == ("stopped", f"Say how many mm of {line.item.name}.")
