"""One tool serves a van's day; one whose test runs out is named the evening before."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client

from inventory.models import Holding, Item, Lot, Place
from kitting import sourcing, standing_list, tools_due
from kitting.models import Job, Kit
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about


@pytest.fixture
def belt(yard: Yard, kit: Kit) -> Item:
    """A tool that each kit of the tower asks for."""
    tools = [line.item for line in kit.lines.select_related("item") if line.item.tracking == "tool"]
    return tools[0]


def leaves(kit: Kit, hour: int, **more: object) -> Kit:
    at = datetime(2026, 11, 26, hour, tzinfo=UTC)
    Job.objects.filter(pk=kit.job_id).update(leaves_at=at, **more)
    return Kit.objects.select_related("job__site__place", "job__van").get(pk=kit.pk)


def to_pick(kit: Kit, item: Item) -> tuple[int, int]:
    total = fold(kit).totals[item.code]
    return total.on_van, total.to_pick


def keeps_until(van: Place, item: Item, until: date) -> Lot:
    """One tool with a test date, loose on a van."""
    lot = Lot.objects.create(item=item, number="W-7", key="W7", expires_on=until)
    Holding.objects.create(place=van, lot=lot, quantity=1)
    return lot


def test_the_first_visit_takes_the_tool_and_the_others_find_it_on_the_van(
    yard: Yard, kit: Kit, belt: Item
) -> None:
    """The later visit asks for none of its own, whichever kit was released first."""
    needed = fold(kit).totals[belt.code].needed
    early, late = leaves(yard.kit(), 7), leaves(kit, 12)

    assert to_pick(early, belt) == (0, needed)
    assert to_pick(late, belt) == (needed, 0)
    kinds = {source.kind for some in sourcing.sources(late).values() for source in some}
    line = late.lines.get(item=belt)
    assert [source.kind for source in sourcing.sources(late)[line.pk]] == ["van"], kinds


@pytest.mark.parametrize("change", ["another day", "cancelled", "closed before"])
def test_without_the_earlier_visit_it_takes_its_own(
    yard: Yard, kit: Kit, belt: Item, change: str
) -> None:
    """Nothing is stored: the need comes back as soon as the other visit goes elsewhere."""
    early, late = leaves(yard.kit(), 7), leaves(kit, 12)
    needed = fold(late).totals[belt.code].needed
    changes = {
        "another day": {"date": DAY + timedelta(days=1)},
        "cancelled": {"cancelled_at": datetime(2026, 11, 25, tzinfo=UTC)},
        "closed before": {"van": None},
    }
    Job.objects.filter(pk=early.job_id).update(**changes[change])

    assert to_pick(late, belt) == (0, needed)


def test_a_tool_whose_test_runs_out_is_named_the_evening_before(
    yard: Yard, kit: Kit, belt: Item, client: Client
) -> None:
    """Tested until the day before: it is named on that day and counts for no kit; not earlier."""
    lot = keeps_until(yard.firm.van, belt, DAY - timedelta(days=1))

    (one,) = tools_due.due(DAY - timedelta(days=1))
    assert (one.lot, one.place, one.job) == (lot, yard.firm.van, kit.job)
    assert tools_due.due(DAY - timedelta(days=2)) == []
    assert to_pick(kit, belt)[0] == 0

    Lot.objects.filter(pk=lot.pk).update(expires_on=DAY)
    assert tools_due.due(DAY - timedelta(days=1)) == []
    assert to_pick(kit, belt)[0] == 1


def test_what_a_job_used_is_on_the_refill_list_unasked(yard: Yard, kit: Kit) -> None:
    """One of two left, one is enough: the one that the job used is brought all the same."""
    item = Item.objects.get(code="CT-BRACKET")
    standing_list.tell(yard.firm.van, item, 1, 2, yard.mona.person)
    yard.shelve("CT-BRACKET", 40)
    yard.wanda.scan("put", "CT-BRACKET", start="BIN1", target="VAN1", quantity=2)

    def level() -> standing_list.Level:
        return standing_list.levels(yard.firm.van, DAY)[0]

    assert (level().to_bring, level().used) == (0, ())
    yard.tariq.scan("use", "CT-BRACKET", quantity=1, **about(kit))
    assert (level().is_below, level().to_bring, level().used) == (False, 1, ((kit.code, 1),))
    yard.wanda.scan("put", "CT-BRACKET", start="BIN1", target="VAN1", quantity=1)
    assert (level().to_bring, level().used) == (0, ())
