"""From where each line comes."""

from datetime import date, timedelta

from inventory.models import CartonContent, Holding, Item, Lot
from kitting import sourcing, visiting
from kitting.models import Kit
from kitting.netting import in_boxes
from kitting.progress import fold
from kitting.shelves import on_shelves, proposed_place
from kitting.tallies import share
from tests.kitting.yard import DAY, Yard, about


def source_of(kit: Kit, code: str) -> list[tuple[str, int, str]]:
    line = kit.lines.get(item__code=code)
    found = sourcing.sources(kit)[line.pk]
    return [(s.kind, s.quantity, s.place.code if s.place else "") for s in found]


def test_bins_are_named_in_walking_order_and_the_rest_is_short(yard: Yard, kit: Kit) -> None:
    """One from bin 1, the other from bin 3."""
    yard.shelve("CT-BRACKET", 1, yard.firm.bins[2])
    yard.shelve("CT-BRACKET", 1, yard.firm.bins[0])
    yard.shelve("CT-CLAMP-L", 1)

    assert source_of(kit, "CT-BRACKET") == [("shelf", 1, "BIN1"), ("shelf", 1, "BIN3")]
    assert source_of(kit, "CT-CLAMP-L") == [("shelf", 1, "BIN1"), ("short", 2, "")]


def test_first_expired_comes_first(yard: Yard, kit: Kit) -> None:
    """The batch that expires soonest is proposed, from whichever bin."""
    item = Item.objects.get(code="CT-ANCH75")
    for number, day, place in (("L2", date(2027, 5, 1), 0), ("L1", date(2027, 1, 1), 2)):
        lot = Lot.objects.create(item=item, number=number, key=number, expires_on=day)

        Holding.objects.create(place=yard.firm.bins[place], lot=lot, quantity=3)

    assert source_of(kit, "CT-ANCH75") == [("shelf", 3, "BIN3"), ("shelf", 1, "BIN1")]
    assert proposed_place(item) == yard.firm.bins[2]


def test_an_earlier_release_has_the_older_claim(yard: Yard) -> None:
    """Three modules for two kits of two: the second is one short, until the first has its own."""
    for serial in ("S1", "S2", "S3"):
        yard.box(serial)
    first, second = yard.kit(), yard.kit()

    def lacks(kit: Kit) -> int:
        shorts = {short.item.code: short.quantity for short in sourcing.shortages(kit)}
        return shorts.get("CT-MODULE", 0)

    assert (lacks(first), lacks(second)) == (0, 1)
    for serial in ("S1", "S2"):
        yard.wanda.scan("pick", f"BOX-{serial}", **about(first))
    assert lacks(second) == 1
    visiting.cancel_job(first.job, yard.mona.person)
    yard.box("S4")
    assert lacks(second) == 0


def test_set_aside_and_packed_things_are_not_proposed(yard: Yard, kit: Kit) -> None:
    """Nor what stands on a van."""
    yard.box("S1")
    yard.box("S2", at=yard.firm.van)
    yard.box("S3")
    yard.mona.scan("set_aside", "S1", reason="recall 7")
    item = Item.objects.get(code="CT-MODULE")

    assert [spot.unit.serial for spot in on_shelves([item.pk])[item.pk] if spot.unit] == ["S3"]


def test_the_van_s_own_tools_are_not_picked(yard: Yard, kit: Kit) -> None:
    """What the van always carries counts as there."""
    yard.shelve("CT-LEVEL", 1, yard.firm.van)

    total = fold(kit).totals["CT-LEVEL"]
    assert (total.on_van, total.to_pick) == (1, 0)
    assert source_of(kit, "CT-LEVEL") == [("van", 1, "VAN1")]


def test_a_box_s_content_is_netted_by_date(yard: Yard, kit: Kit) -> None:
    """A later content counts from its day on; 0 says that it is no longer in the box."""
    base, foot = (Item.objects.get(code=code) for code in ("CT-BASE", "CT-FOOT"))
    assert source_of(kit, "CT-FOOT") == [("box", 4, "")]
    for day, quantity in ((DAY - timedelta(1), 2), (DAY, 0), (DAY + timedelta(1), 4)):
        CartonContent.objects.create(box_of=base, item=foot, quantity=quantity, since=day)
        expected = {2: 2, 0: 0, 4: 0}[quantity]  # the last is not so before the day after the job

        assert fold(kit).totals["CT-FOOT"].in_boxes == expected
    assert in_boxes(kit, [foot.pk]).get(foot.pk) is None
    assert fold(kit).totals["CT-FOOT"].to_pick == 4


def test_shares_fill_from_the_front() -> None:
    """What is left over stays out, or goes into the last."""
    assert share(5, [2, 2, 2]) == [2, 2, 1]
    assert share(9, [2, 2], keep_all=True) == [2, 7]
    assert share(0, [2]) == [0]
