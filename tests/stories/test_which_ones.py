"""Which one is taken: offered by bin and layer, another that keeps the rules counts, one that is
barred does not; and a manager takes what a job lacks out of another kit."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction

from inventory import audit
from kitting import families
from kitting.models import Job, Kit
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.yard import DAY, TOWER, Yard, about, fresh
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
BIN = "Box of battery module, Bin 1, Depot"
SERIALS = ("M1", "M2", "M3", "M4")


@pytest.fixture(scope="module")
def yard(django_db_setup: None, django_db_blocker: Any) -> Iterator[Yard]:
    """A firm whose list of today bars A beside B; four modules came into one bin, one by one."""
    with django_db_blocker.unblock(), transaction.atomic():
        yard = yards.build()
        text = TOWER.read_text(encoding="utf-8").replace(
            "edition = 2026-11-03", "edition = 2026-11-20"
        )
        text = text.replace('verdict = "allowed"', 'verdict = "barred"')
        families.make_current(families.load(text, "tower.toml").edition, yard.mona.person)
        for serial in SERIALS:
            yard.box(serial, at=yard.firm.bins[0])
        for serial, revision in zip(SERIALS, "AAAB", strict=True):
            yard.wanda.scan("label_says", serial, reason=revision)
        yield yard
        transaction.set_rollback(True)


@pytest.fixture
def again(yard: Yard) -> Iterator[Yard]:
    """What a test does to the firm goes again."""
    with transaction.atomic():
        yield yard
        transaction.set_rollback(True)


def where(hands: Hands, serial: str) -> str:
    """Where a serial lies by the page."""
    return hands.page.words.partition(serial)[2].lstrip().partition("\n")[0].strip()


def test_a_hand_takes_another_than_the_one_offered(again: Yard) -> None:
    """M1 lies under three boxes; M3 is nearer to hand and keeps the rules: it counts at once.

    M4 is of the barred revision: nothing moves, and the page says why it is not offered.
    """
    yard, kit = again, again.kit()
    wanda = Hands(yard.wanda.person).begin(f"/kits/{kit.code}/pick")
    wanda.follow("Which ones, and from where")
    page = wanda.page.words
    assert where(wanda, "M1") == f"{BIN}, under 3 put there later"
    assert where(wanda, "M2") == f"{BIN}, under 2 put there later"
    assert "Any other that keeps the same rules counts as well" in page
    wanda.follow("Back to picking")

    assert wanda.scan("BOX-M3") == "applied", wanda.said
    assert fold(fresh(kit)).totals["CT-MODULE"].to_pick == 1
    assert wanda.scan("BOX-M4") == "stopped"
    assert "has revision B" in wanda.said
    assert yard.firm.unit("M4").place.parent == yard.firm.bins[0]
    wanda.follow("Which ones, and from where")
    assert "M4 revision B" in wanda.page.words
    assert where(wanda, "M1") == f"{BIN}, under 2 put there later"
    wanda.follow("Back to picking")
    assert wanda.scan("BOX-M1") == "applied", wanda.said

    assert fold(fresh(kit)).totals["CT-MODULE"].to_pick == 0
    assert (wanda.scans, wanda.typed) == (3, 0)
    assert [one.problems for one in audit.run() if one.problems] == []


def test_a_manager_takes_what_a_job_lacks_out_of_another_kit(again: Yard) -> None:
    """Two modules are packed for tomorrow, none is left for today: both kits' pages say so.

    Seen, chosen with a reason, one scan a box; the kit that gave them lacks them at once.
    """
    yard = again
    giver, taker = yard.kit(), yard.kit()
    Job.objects.filter(pk=giver.job_id).update(date=DAY + timedelta(1))
    for serial in ("M1", "M2"):
        yard.wanda.scan("pick", f"BOX-{serial}", **about(giver))
    for serial in ("M3", "M4"):
        yard.wanda.scan("set_aside", serial, reason="a torn box")
    mona = Hands(yard.mona.person).begin(f"/kits/{taker.code}/sources")
    assert f"packed for {giver.code}" in mona.page.words
    assert "that job would lack it" in mona.page.words
    mona.follow("Take it from another kit")
    assert mona.scan("BOX-M1") == "stopped"
    assert "Say why" in mona.said
    mona.write("reason", "leaves at 7")
    for serial in ("M1", "M2"):
        assert mona.scan(f"BOX-{serial}") == "applied", mona.said

    lacks = [fold(fresh(kit)).totals["CT-MODULE"].to_pick for kit in (giver, taker)]
    assert lacks == [2, 0]
    told = Hands(yard.wanda.person).begin(f"/kits/{giver.code}/").page.words
    assert f"from {giver.code} to {taker.code}" in told
    assert "leaves at 7" in told
    assert (mona.scans, mona.touches) == (3, 2)
    assert Kit.objects.get(pk=giver.pk).is_open
    assert [one.problems for one in audit.run() if one.problems] == []
