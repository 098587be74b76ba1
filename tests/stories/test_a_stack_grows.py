"""A tower of two modules gets a third: the head comes off, the module goes on, the head again."""

from __future__ import annotations

import pytest

from inventory import audit
from inventory.models import Finding
from kitting import queries
from kitting.models import AsBuilt, Kit
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about

pytestmark = pytest.mark.django_db
NEW = "CM26-00188"


def place(level: int) -> dict[str, int]:
    return {"stack": 1, "level": level}


def put_up(yard: Yard) -> Kit:
    """Two modules and the power unit stand by scanning."""
    kit = yard.kit()
    carry(yard, kit, "S1", "S2")
    yard.box("P1", "CT-POWER")
    for step in ("pick", "load"):
        yard.wanda.scan(step, "BOX-P1", **about(kit))
    for level, serial in enumerate(("S1", "S2", "P1"), 1):
        yard.tariq.scan("unbox", serial, **about(kit))
        done = yard.tariq.scan("fit", serial, position=place(level), **about(kit))
        assert done.verdict == "applied", done.sentence
    yard.ticks(kit)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"
    return kit


def test_an_expansion_starts_from_what_stands() -> None:
    """The plan is worked out from the record; the old head stands again one place higher."""
    yard = yards.build()
    first = put_up(yard)
    before = queries.before(yard.site)
    assert before == [{"modules": 2}]
    job = yard.job(job="expansion", stacks=[{"modules": 3}], before={"stacks": before})
    kit = yard.kit(job)
    assert fold(kit).totals["CT-MODULE"].needed == 1
    carry(yard, kit, NEW)
    yard.tariq.scan("unbox", NEW, **about(kit))
    too_early = yard.tariq.scan("fit", NEW, position=place(3), **about(kit))
    assert too_early.verdict == "stopped"
    for step, serial, more in (
        ("take_down", "P1", {}),
        ("charge", "S1", {"number": 30}),
        ("charge", "0188", {"number": 32}),  # as the screen shows it: never in full
        ("fit", NEW, {"position": place(3)}),
        ("fit", "P1", {"position": place(4)}),
    ):
        done = yard.tariq.scan(step, serial, **more, **about(kit))
        assert done.verdict == "applied", done.sentence
    yard.ticks(kit)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"

    stands = {(row.level, row.unit.serial) for row in queries.stands_at(yard.site.place)}
    assert stands == {(1, "S1"), (2, "S2"), (3, NEW), (4, "P1")}
    assert queries.ever_stood_at(yard.site.place).count() == 5
    assert fold(kit).totals["CT-MODULE"].fitted == 1
    assert AsBuilt.objects.filter(since__subject=first.subject, until=None).count() == 2
    assert not Finding.objects.exists()
    assert [check.problems for check in audit.run() if check.problems] == []
