"""Two people at one job, a slip with the scanner, a description put right: nothing is lost."""

from typing import Any

import pytest

from inventory import audit
from inventory.models import CartonContent, Event, Place, PlaceKind, Unit
from inventory.placing import make
from kitting import as_built, changing, hand_lines, packing, surveying, visiting
from kitting.models import AsBuilt, Job, Kit, KitLine
from kitting.packing import Refused
from kitting.progress import fold
from tests.kitting.yard import CONFIGURATION, Yard, about, fresh

pytestmark = pytest.mark.django_db


def described(**more: Any) -> dict[str, Any]:
    return {**CONFIGURATION, **more}


def stands(yard: Yard) -> list[tuple[int, int, str, str]]:
    rows = AsBuilt.objects.filter(site=yard.site.place, until=None)
    return sorted((row.stack, row.level, row.role, row.serial) for row in rows)


def found(yard: Yard, serial: str, level: int, item: str = "CT-MODULE", **more: Any) -> str:
    place = {"position": {"stack": 1, "level": level}, "subject": f"site:{yard.site.place.code}"}
    return yard.mona.scan("find_standing", yard.label(serial, item), **place, **more).verdict


def gland_line(kit: Kit) -> KitLine:
    return kit.lines.select_related("item").filter(item__code="CT-G20").first()  # type: ignore[return-value]


def test_a_second_scan_leaves_what_the_kit_needs(yard: Yard, kit: Kit) -> None:
    """Three are packed, one is needed: two go back, however often the code is scanned."""
    yard.wanda.scan("pick", "CT-G20", **about(kit, quantity=3))
    first = yard.wanda.scan("put_back", "CT-G20", **about(kit))
    again = yard.wanda.scan("put_back", "CT-G20", **about(kit))

    assert (first.verdict, again.verdict) == ("applied", "noted")
    assert fold(fresh(kit)).totals["CT-G20"].at_depot == 1


def test_a_van_changed_on_an_old_page_takes_the_loading_place_along(yard: Yard, kit: Kit) -> None:
    """The kit's place on its van is where the job says."""
    van = kit.job.van
    other = make(PlaceKind.VAN, "Van 9", parent=van.parent if van else None)
    one, old = Job.objects.get(pk=kit.job_id), Job.objects.get(pk=kit.job_id)
    assert old.van == van
    for job, to in ((one, other), (old, van)):
        visiting.change_job(job, day=job.date, leaves_at=None, van=to, crew=[], by=yard.mona.person)

    load = Place.objects.get(pk=kit.packages.get(kind="load").place_id)
    assert Job.objects.get(pk=kit.job_id).van_id == load.parent_id


def test_two_open_questions_taken_both_by_two_people_are_both_kept(yard: Yard) -> None:
    """The second page was opened before the first was sent."""
    job = yard.job(ac_od="unknown", data_od="unknown")
    packing.work_out_kit(job, yard.mona.person)
    one, old = Job.objects.get(pk=job.pk), Job.objects.get(pk=job.pk)
    packing.take_both(one, "ac_od", yard.mona.person)
    packing.take_both(old, "data_od", yard.mona.person)

    assert Job.objects.get(pk=job.pk).configuration["take_both"] == ["ac_od", "data_od"]


def test_an_old_page_does_not_write_over_anothers_change(yard: Yard, kit: Kit) -> None:
    """The second is asked to look again; released or cancelled meanwhile is seen too."""
    taller = described(stacks=[{"modules": 3}])
    changing.change_kit(kit, taller, yard.mona.person, "one more", seen=0)
    with pytest.raises(Refused, match="changed meanwhile"):
        changing.change_kit(kit, described(ac_run=6000), yard.mona.person, "longer", seen=0)

    assert fresh(kit).snapshot["configuration"]["stacks"] == [{"modules": 3}]
    planned = yard.job()
    stale = Job.objects.get(pk=planned.pk)
    visiting.cancel_job(planned, yard.mona.person)
    visiting.cancel_job(kit.job, yard.mona.person)
    done = yard.wanda.scan("pick", "CT-G20", **about(kit))
    assert "is cancelled: nothing of it goes out" in done.sentence
    with pytest.raises(Refused, match="is cancelled"):
        packing.work_out_kit(stale, yard.mona.person)


def test_a_line_by_hand_is_taken_back_though_the_quantity_stays(yard: Yard, kit: Kit) -> None:
    """Of two changes of one line the first is taken back; the second holds."""
    line, by = gland_line(kit), yard.mona.person
    given = {"item": line.item, "step": line.step, "verb": "change", "by": by}
    first = hand_lines.put(kit.job, **given, quantity=5, reason="old habit")
    hand_lines.put(kit.job, **given, quantity=8, reason="two houses")
    hand_lines.take_back(first, by, "wrong")

    assert gland_line(fresh(kit)).quantity == 8


def test_a_phone_with_a_wrong_clock_counts_a_box_right(yard: Yard) -> None:
    """What a box holds is told for the day on which the count arrived."""
    told = CartonContent.objects.select_related("box_of", "item").filter(quantity__gt=0).first()
    assert told is not None
    counted = {"with": told.item.code, "quantity": told.quantity}
    done = yard.wanda.scan("open_box", told.box_of.code, at="2020-01-01T00:00:00.000Z", **counted)

    assert done.verdict == "applied", done.sentence


def test_a_change_of_the_kit_does_not_change_what_stood_before_it(yard: Yard, kit: Kit) -> None:
    """The head hung over two modules, the new plan has a module there: the head stays one."""
    yard.box("M1")
    yard.box("H1", "CT-POWER")
    for serial, level, item in (("M1", 1, "CT-MODULE"), ("H1", 3, "CT-POWER")):
        at = {"position": {"stack": 1, "level": level}}
        yard.tariq.scan("fit", yard.label(serial, item), **at, **about(kit))
    live = stands(yard)
    changing.change_kit(kit, described(stacks=[{"modules": 3}]), yard.mona.person, "one more")

    assert [check for check in audit.run() if check.problems] == []
    as_built.refold(yard.site.place)
    assert stands(yard) == live


def test_a_description_keeps_a_place_for_all_that_was_found(yard: Yard) -> None:
    """A smaller one is refused by name while what it has no place for is entered."""
    surveying.describe(yard.site, described(), yard.mona.person)
    for serial, level, item in (
        ("O1", 1, "CT-MODULE"),
        ("O2", 2, "CT-MODULE"),
        ("OH", 3, "CT-POWER"),
    ):
        assert found(yard, serial, level, item) == "applied"
    live = stands(yard)
    with pytest.raises(Refused, match="OH at place 3 of stack 1 has no place in this"):
        surveying.describe(yard.site, described(stacks=[{"modules": 1}]), yard.mona.person)

    assert stands(yard) == live


def test_a_revision_that_was_read_is_not_undone_in_words_only(yard: Yard) -> None:
    """It stays until another is read; undo says so."""
    surveying.describe(yard.site, described(), yard.mona.person)
    found(yard, "O1", 1, reason="A")
    found(yard, "O1", 1, reason="B")
    event = Event.objects.filter(step="find_standing").order_by("-number").first()
    assert event is not None
    done = yard.mona.scan("undo", reverses=str(event.uid))

    assert done.verdict == "stopped"
    assert Unit.objects.get(serial="O1").revision == "B"
    assert "until another is" in done.sentence
