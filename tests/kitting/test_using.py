"""Used as planned."""

from kitting.models import Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import bag
from tests.kitting.yard import Yard, about


def carry(yard: Yard, kit: Kit, **items: int) -> None:
    """Shelve, pick and bring to the site."""
    for name, quantity in items.items():
        code = name.replace("_", "-")
        yard.shelve(code, quantity)
        yard.wanda.scan("pick", code, quantity=quantity, **about(kit))
    parcel = kit.packages.get(kind="parcel").place
    yard.wanda.scan("load", parcel.code, **about(kit))


def test_everything_planned_is_used_and_the_rest_stays(yard: Yard, kit: Kit) -> None:
    """Fourteen bolts for twelve: two are left; tools and units are not used up."""
    carry(yard, kit, CT_BOLT6=14, CT_BRACKET=2, CT_LEVEL=1)
    yard.wanda.scan("load", "CT-LEVEL", **about(kit))
    done = yard.tariq.scan("use", **about(kit))
    again = yard.tariq.scan("use", **about(kit))

    totals = fold(kit).totals
    assert (done.verdict, done.sentence) == ("applied", "Used as planned: 2 items.")
    assert again.verdict == "noted"
    assert (totals["CT-BOLT6"].used, totals["CT-BOLT6"].picked) == (12, 14)
    assert totals["CT-BRACKET"].used == 2
    assert totals["CT-LEVEL"].used == 0


def test_a_bag_and_one_item_can_be_used_alone(yard: Yard, kit: Kit) -> None:
    """By the bag's label, and by code and number."""
    carry(yard, kit, CT_TIE=12, CT_BOLT6=12)
    bag_done = yard.tariq.scan("use", bag(kit, "join").code, **about(kit))
    item_done = yard.tariq.scan("use", "CT-TIE", quantity=3, **about(kit))
    tool = yard.tariq.scan("use", "CT-LEVEL", **about(kit))
    too_many = yard.tariq.scan("use", "CT-TIE", quantity=50, **about(kit))

    assert (bag_done.verdict, item_done.verdict) == ("applied", "applied")
    assert (tool.verdict, too_many.verdict) == ("stopped", "stopped")
    assert fold(kit).totals["CT-TIE"].used == 7
    assert fold(kit).totals["CT-BOLT6"].used == 12


def test_what_still_stands_at_the_depot_is_not_used(yard: Yard, kit: Kit) -> None:
    """A kit that was never loaded has nothing with the crew."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    done = yard.tariq.scan("use", **about(kit))

    assert done.verdict == "noted"
    assert fold(kit).totals["CT-BRACKET"].used == 0
