"""Spares: what gets lost on one job is taken along on the next."""

import pytest

from inventory.models import Item
from kitting import sourcing
from kitting.progress import fold
from kitting.queries import left_of
from kitting.sparing import STEP
from tests.kitting import yard as yards
from tests.kitting.yard import Yard, about

pytestmark = pytest.mark.django_db
BOLT = "CT-BOLT6"


@pytest.fixture
def yard(db: None) -> Yard:
    return yards.build()


def told(kit, item=BOLT):
    """What the kit's snapshot tells of one item, and of the whole."""
    spares = kit.snapshot["spares"]
    return next(row for row in spares["rows"] if row["item"] == item), spares


def test_a_finding_changes_the_next_kit_s_number(yard: Yard) -> None:
    """Bolts go missing on one job; the next kit has more spare bolts and says why."""
    first = yard.kit()
    before, whole = told(first)
    lost = yard.tariq.scan("missing", BOLT, quantity=6, **about(first))
    assert lost.verdict == "problem"
    after, _ = told(yard.kit())

    assert before["record"] == "assumed 1 lost of 200: no record yet"
    assert after["record"] == "6 lost of 6"
    assert after["spare"] > before["spare"]
    assert whole["reached"]
    assert 0.95 <= whole["chance"] < 1
    assert whole["without"] < 0.6


def test_spares_cost_what_was_entered(yard: Yard) -> None:
    """75 cents for a pack of 50: two cents a bolt, rounded up; 1.00 where nobody entered it."""
    row, _ = told(yard.kit())
    Item.objects.filter(code=BOLT).update(cost=75, cost_for=50)
    cheap, _ = told(yard.kit())

    assert row["cost"] == row["spare"] * 100 > 0
    assert cheap["cost"] == cheap["spare"] * 2 > 0


def test_a_small_part_that_stops_the_job_always_has_one(yard: Yard) -> None:
    """The bus end plug, whatever the target."""
    row, _ = told(yard.kit(), "CT-TERM")

    assert row["always"]
    assert row["spare"] >= 1


def test_spares_are_packed_in_a_bag_of_their_own_and_come_back(yard: Yard) -> None:
    """The crew uses what is planned and is asked for the rest."""
    kit = yard.kit()
    total = fold(kit).totals[BOLT]
    yard.shelve(BOLT, total.to_pick)
    yard.wanda.scan("pick", BOLT, quantity=total.to_pick, **about(kit))
    bag = kit.packages.get(step=STEP).place
    held = bag.holdings.filter(lot__item__code=BOLT).get().quantity
    parcel = kit.packages.get(kind="parcel").place
    yard.wanda.scan("load", parcel.code, **about(kit))
    yard.tariq.scan("unbox", parcel.code, **about(kit))
    done = yard.tariq.scan("use", **about(kit))

    assert bag.name.endswith("Spares")
    assert 0 < held == total.spare
    assert done.verdict == "applied"
    assert fold(kit).totals[BOLT].used == total.planned
    assert {BOLT: total.spare} == {thing.item.code: thing.quantity for thing in left_of(kit)}


def test_a_spare_that_is_not_on_the_shelf_stops_no_job(yard: Yard) -> None:
    """Short is only what the job cannot do without."""
    kit = yard.kit()
    yard.shelve(BOLT, fold(kit).totals[BOLT].planned)

    assert BOLT not in {short.item.code for short in sourcing.shortages(kit)}
    assert "CT-TERM" in {short.item.code for short in sourcing.shortages(kit)}
