"""What is not fitted or used comes back."""

from inventory.models import Holding, Unit
from inventory.queries import held
from kitting import queries
from kitting.models import Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import bag
from tests.kitting.test_unboxing import carry as carry_units
from tests.kitting.test_using import carry
from tests.kitting.yard import Yard, about


def test_the_rest_goes_to_the_van_at_one_tap(yard: Yard, kit: Kit) -> None:
    """Units, tools and small parts in one event."""
    carry(yard, kit, CT_BOLT6=14, CT_LEVEL=1)
    yard.wanda.scan("load", "CT-LEVEL", **about(kit))
    carry_units(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    done = yard.tariq.scan("bring_back", **about(kit))
    again = yard.tariq.scan("bring_back", **about(kit))

    assert (done.verdict, again.verdict) == ("applied", "noted")
    assert done.sentence == "3 things to Van 1."
    assert Unit.objects.get(serial="S1").place == yard.firm.van
    assert fold(kit).totals["CT-BOLT6"].back == 14
    assert queries.left_of(kit) == []


def test_a_damaged_unit_comes_back_to_the_dock(yard: Yard, kit: Kit) -> None:
    """Set aside as it is, it may travel once a named person has said how it is packed."""
    carry_units(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    yard.tariq.scan("damaged", "S1", photo="d" * 64, reason="damaged", **about(kit))
    early = yard.tariq.scan("bring_back", "S1", target="DOCK", **about(kit))
    whole = yard.tariq.scan("bring_back", **about(kit))
    yard.mona.scan("packing_class", "S1", kind="p908", reason="no heat, by the maker's sheet")
    done = yard.tariq.scan("bring_back", "S1", target="DOCK", **about(kit))
    again = yard.tariq.scan("bring_back", "S1", target="DOCK", **about(kit))

    assert (early.verdict, whole.verdict) == ("stopped", "stopped")
    assert "special provision 376" in early.sentence
    assert (done.verdict, again.verdict) == ("applied", "noted")
    assert Unit.objects.get(serial="S1").place == yard.firm.dock


def test_a_fitted_unit_has_to_be_taken_down_first(yard: Yard, kit: Kit) -> None:
    """Bringing back does not reach into a stack."""
    carry_units(yard, kit, "S1")
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 1}, **about(kit))
    done = yard.tariq.scan("bring_back", "S1", **about(kit))

    assert (done.verdict, "Take it down first" in done.sentence) == ("stopped", True)


def test_a_box_comes_back_unopened(yard: Yard, kit: Kit) -> None:
    """One container move; the kit's line counts it as back."""
    carry_units(yard, kit, "S1")
    done = yard.tariq.scan("bring_back", "BOX-S1", target="DOCK", **about(kit))

    assert done.verdict == "applied"
    assert fold(kit).totals["CT-MODULE"].back == 1
    place = Unit.objects.get(serial="S1").place
    assert place is not None
    assert (place.kind, place.parent) == ("carton", yard.firm.dock)


def test_a_bag_is_emptied_and_a_quantity_can_be_said(yard: Yard, kit: Kit) -> None:
    """The bag belongs to this kit only; what was in it goes on."""
    carry(yard, kit, CT_TIE=12, CT_BOLT6=12)
    bag_done = yard.tariq.scan("bring_back", bag(kit, "join").code, target="DOCK", **about(kit))
    ties = yard.tariq.scan("bring_back", "CT-TIE", quantity=2, target="DOCK", **about(kit))
    nowhere = yard.tariq.scan("bring_back", "CT-TIE", target="NOWHERE", **about(kit))

    assert (bag_done.verdict, ties.verdict, nowhere.verdict) == ("applied", "applied", "stopped")
    lot = Holding.objects.filter(lot__item__code="CT-TIE", place=yard.firm.dock).get().lot
    assert held(yard.firm.dock, lot) == 6
    assert fold(kit).totals["CT-BOLT6"].back == 12
