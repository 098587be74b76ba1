"""What a job left over comes back on the van, is looked at, and only then is stock again."""

from __future__ import annotations

import pytest

from inventory import audit
from inventory.models import Holding, Return, Unit
from inventory.queries import stock_at
from inventory.returns import back_place, open_ones
from kitting import sourcing
from kitting.shelves import carried_by, on_shelves
from tests.kitting import yard as yards
from tests.kitting.test_using import carry
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db


def test_left_over_parts_are_stock_only_after_the_check() -> None:
    """A module in its box and bolts come back; the next job gets them when they were looked at."""
    yard = yards.build()
    kit = yard.kit()
    carry(yard, kit, CT_BOLT6=14, CT_LABSYS=1, CT_LEVEL=1)
    yard.box("S1")
    for step in ("pick", "load"):
        assert yard.wanda.scan(step, "BOX-S1", **about(kit)).verdict == "applied"
    unit = Unit.objects.get(serial="S1")
    module, bolt = unit.item, Holding.objects.filter(lot__item__code="CT-BOLT6")[0].lot.item
    done = yard.tariq.scan("bring_back", "BOX-S1", **about(kit))
    assert done.verdict == "applied", done.sentence
    done = yard.tariq.scan("bring_back", **about(kit))
    assert done.verdict == "applied", done.sentence
    van = yard.firm.van
    back = back_place(van)
    assert sum(holding.quantity for holding in stock_at(back, bolt)) == 14
    # A tool goes where it belongs: nobody has to look at it.
    assert Holding.objects.get(lot__item__code="CT-LEVEL", place=van).quantity == 1
    kinds = {one.item.code: one.kind for one in Return.objects.all()}
    assert kinds == {"CT-BOLT6": "left", "CT-LABSYS": "left", "CT-MODULE": "left"}
    assert carried_by(van, [module.pk, bolt.pk]) == {}
    assert not on_shelves([module.pk, bolt.pk])
    assert sourcing.shortages(yard.kit()) != []
    at_the_desk(yard)
    [spot] = on_shelves([module.pk])[module.pk]
    assert (spot.unit, spot.place.code, spot.place.parent) == (unit, "BOX-S1", yard.firm.bins[1])
    assert sum(spot.quantity for spot in on_shelves([bolt.pk])[bolt.pk]) == 17
    assert [check.problems for check in audit.run() if check.problems] == []


def at_the_desk(yard: Yard) -> None:
    """Scan what the van brought, then look at each."""
    dock, van = yard.firm.dock.code, yard.firm.van.code
    wanda = Hands(yard.wanda.person).begin("/returns/")
    wanda.choose("target", dock)
    assert wanda.scan("BOX-S1") == "applied", wanda.said
    wanda.choose("from", van)
    for code, quantity in (("CT-BOLT6", "14"), ("CT-LABSYS", "1")):
        wanda.write("quantity", quantity)
        assert wanda.scan(code) == "applied", wanda.said
    wanda.begin("/returns/")
    assert "Next: Look at it" in wanda.page.words
    in_one_touch(yard, wanda)
    shelf = yard.firm.bins[1].code
    for found in open_ones():
        wanda.begin(f"/returns/{found.code}/")
        if found.item.code == "CT-LABSYS":
            # What is renewed each time is never used a second time.
            assert wanda.press("Looked at", kind="usable:other", target=shelf) == "stopped"
            assert "is renewed each time it was opened" in wanda.said
            assert wanda.press("Looked at", kind="not_usable:none") == "applied", wanda.said
            continue
        said = wanda.press("Looked at", kind="as_new:original", target=shelf)
        assert said == "applied", wanda.said


def in_one_touch(yard: Yard, wanda: Hands) -> None:
    """What lies on a shelf already goes back to it from the list: one touch, nothing typed."""
    yard.shelve("CT-BOLT6", 3)
    wanda.begin("/returns/")
    found = Return.objects.filter(lot__item__code="CT-BOLT6")[0]
    at = on_shelves([found.item.pk])[found.item.pk][0].place
    words = f"As new, to {at.name}"
    assert wanda.press(words, near=found.subject) == "applied", wanda.said
    assert (wanda.touches, wanda.typed) == (1, 0)
    assert sum(holding.quantity for holding in stock_at(at, found.item)) == 3 + found.quantity
    wanda.begin("/returns/")
    assert found not in open_ones()
