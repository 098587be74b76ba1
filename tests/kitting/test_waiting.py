"""Goods-in says which kit waits for what has just come."""

from datetime import UTC, datetime, timedelta

from inventory.models import Item, Place
from kitting.models import Job, Kit
from kitting.waiting import waits_for
from tests.kitting.yard import DAY, Yard


def said(item: str, quantity: int = 1, days: int = 0) -> str:
    return waits_for(Item.objects.get(code=item), quantity, DAY + timedelta(days=days))


def test_the_kit_released_first_is_served_first_and_its_hour_is_the_depot_s(yard: Yard) -> None:
    """Two kits of two modules; 06:10 UTC is 07:10 in Berlin in November."""
    Place.objects.filter(kind="depot").update(time_zone="Europe/Berlin")
    kits = [yard.kit(), yard.kit()]
    Job.objects.update(leaves_at=datetime(2026, 11, 26, 6, 10, tzinfo=UTC))
    told = []
    for number in range(5):
        yard.box(f"S{number}")
        told.append(said("CT-MODULE"))

    first, second = (f"For job {kit.job.code}, leaves 07:10: straight to Bay" for kit in kits)
    assert [words.partition(" at ")[0] for words in told] == [first, first, second, second, ""]


def test_nobody_waits_whose_job_is_over_called_off_or_far_away(yard: Yard, kit: Kit) -> None:
    """Seven days ahead and no further; an item of no kit is nobody's; the eve names the day."""
    Job.objects.update(leaves_at=datetime(2026, 11, 26, 6, 10, tzinfo=UTC))
    yard.box("S1")
    assert said("CT-MODULE", days=-1).startswith(f"For job {kit.job.code}, leaves 26 Nov 06:10")
    assert [said("CT-MODULE", days=days) != "" for days in (-8, -7, 0, 1)] == [
        False,
        True,
        True,
        False,
    ]
    assert said("BRA") == ""
    Job.objects.update(cancelled_at=datetime(2026, 11, 25, tzinfo=UTC))
    assert said("CT-MODULE") == ""
