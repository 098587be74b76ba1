"""Jobs are planned, kits worked out and released: by one writer."""

from datetime import date, timedelta

import pytest

from inventory.models import Item, Place
from inventory.placing import make
from kitting import packing, visiting
from kitting.models import Kit, Package
from kitting.packing import Refused
from kitting.progress import fold
from kitting.shelves import stock_in
from tests.kitting.yard import CONFIGURATION, DAY, Yard, about, fresh


def test_a_kit_is_a_snapshot_with_reasons(yard: Yard) -> None:
    """Lines carry their reasons; edition, engine and tables are kept beside them."""
    kit = packing.work_out_kit(yard.job(), yard.mona.person)

    line = kit.lines.get(item__code="CT-BRACKET")
    assert line.quantity == 2  # table A of the sheet: 2 modules -> 2 brackets
    assert line.reasons[0]["rule"] == "R7"
    assert kit.snapshot["edition"]["sha256"] == kit.edition.sha256
    assert kit.snapshot["engine"]
    assert {p["level"] for p in kit.snapshot["positions"]} == {1, 2, 3}
    assert kit.code == "J1001-1"
    assert kit.subject == "kit:J1001-1"


def test_working_out_again_makes_the_next_revision(yard: Yard) -> None:
    """The earlier kit stays as it was."""
    job = yard.job()
    first = packing.work_out_kit(job, yard.mona.person)
    second = packing.work_out_kit(job, yard.mona.person)

    assert (first.revision, second.revision) == (1, 2)
    assert job.kit == second
    with pytest.raises(Refused, match="worked out again"):
        packing.release(first, yard.mona.person)


def test_a_broken_limit_is_refused_with_every_reason(yard: Yard) -> None:
    """Two broken limits give two reasons and no kit."""
    job = yard.job(mount="wall", wall="aerated", stacks=[{"modules": 6}], covering=None)
    job.configuration.pop("covering")

    with pytest.raises(Refused) as refused:
        packing.work_out_kit(job, yard.mona.person)

    assert {reason.rule for reason in refused.value.reasons} >= {"L2", "L4"}
    assert not Kit.objects.exists()


def test_a_configuration_with_faults_names_each_field(yard: Yard) -> None:
    """A missing and an unknown answer are told at once."""
    job = yard.job(colour="red")
    job.configuration.pop("place")
    job.save()

    with pytest.raises(Refused) as refused:
        packing.work_out_kit(job, yard.mona.person)

    assert {"colour", "place"} <= {reason.rule for reason in refused.value.reasons}


def test_a_job_is_planned_with_what_exists(yard: Yard) -> None:
    """Unknown family and kind, a bin for a van, a manager in the crew: all refused at once."""
    with pytest.raises(Refused) as refused:
        packing.plan_job(
            by=yard.mona.person,
            site=yard.site,
            date=DAY,
            configuration={"family": "none", "job": "dance"},
            van=yard.firm.bins[0],
            crew=[yard.mona.person],
        )

    assert [r.rule for r in refused.value.reasons] == ["job", "family", "van", "crew"]


def test_releasing_makes_labelled_parcels_and_says_what_is_short(yard: Yard) -> None:
    """One bag for each step with small parts, a parcel around them, a bay, a place on the van."""
    kit = packing.work_out_kit(yard.job(), yard.mona.person)
    yard.shelve("CT-BRACKET", 1)
    short = {s.item.code: s for s in packing.release(kit, yard.mona.person)}

    packages = Package.objects.filter(kit=kit)
    bags = packages.filter(kind="bag")
    assert bags.count() == 9
    assert {bag.place.parent for bag in bags} == {packages.get(kind="parcel").place}
    assert packages.get(kind="load").place.parent == yard.firm.van
    assert all(place.subject == kit.subject for place in Place.objects.filter(package__kit=kit))
    assert (short["CT-BRACKET"].needed, short["CT-BRACKET"].quantity) == (2, 1)
    assert short["CT-BRACKET"].known
    assert not short["CT-MODULE"].known
    assert "CT-FOOT" not in short  # four come in the box of the base
    assert "CT-WASH6" not in short  # a supply is kept by two bins


def test_a_release_names_every_reason_against_it(yard: Yard) -> None:
    """No van, no crew, an open question: each is told."""
    job = yard.job(ac_od="unknown")
    visiting.change_job(job, day=DAY, leaves_at=None, van=None, crew=[], by=yard.mona.person)
    kit = packing.work_out_kit(job, yard.mona.person)

    with pytest.raises(Refused) as refused:
        packing.release(kit, yard.mona.person)

    assert {r.rule for r in refused.value.reasons} == {"van", "crew", "open question"}


def test_a_released_kit_stays(yard: Yard, kit: Kit) -> None:
    """It is not worked out again, not released twice, and keeps its van."""
    for act in (packing.work_out_kit, packing.release):
        thing = kit.job if act is packing.work_out_kit else kit
        with pytest.raises(Refused, match="released"):
            act(thing, yard.mona.person)  # type: ignore[operator]
    with pytest.raises(Refused, match="expected a van, as the kit is released"):
        visiting.change_job(
            kit.job, day=DAY, leaves_at=None, van=None, crew=[], by=yard.mona.person
        )
    visiting.change_job(
        kit.job,
        day=DAY + timedelta(days=1),
        leaves_at=None,
        van=yard.firm.van,
        crew=[yard.tove.person],
        by=yard.mona.person,
    )
    assert kit.job.crew.get() == yard.tove.person


def test_who_changed_a_visit_is_kept(yard: Yard) -> None:
    """Day, crew, cancelled: what it was, what it is, who and when; the same again is no change."""
    job = yard.job()
    before = visiting.changes(job)
    for by in (yard.mona.person, yard.wanda.person):
        visiting.change_job(
            job, day=date(2026, 12, 9), leaves_at=None, van=job.van, crew=[yard.tove.person], by=by
        )
    visiting.cancel_job(job, yard.wanda.person)
    visiting.cancel_job(job, yard.mona.person)
    told = [(one.by, one.words) for one in visiting.changes(job)]

    assert before == []
    assert told == [
        (yard.wanda.person, "cancelled"),
        (
            yard.mona.person,
            f"day: {DAY:%-d %b %Y} to 9 Dec 2026; crew: Tariq to Tove",
        ),
    ]


def test_another_van_takes_a_kit_s_place_along_while_it_is_empty(yard: Yard, kit: Kit) -> None:
    """From the first scan on it stays with what is in it: a second place waits on the new van, and
    a scan takes the thing over."""
    other = make("van", "Van 9")
    move = {"day": DAY, "leaves_at": None, "crew": [yard.tariq.person], "by": yard.mona.person}
    visiting.change_job(kit.job, van=other, **move)
    load = kit.packages.get(kind="load").place
    assert (load.parent, load.name) == (other, "Loaded on Van 9")

    unit = yard.box("S1")
    for step in ("pick", "load"):
        assert yard.wanda.scan(step, "BOX-S1", **about(kit)).verdict == "applied"
    visiting.change_job(kit.job, van=yard.firm.van, **move)
    loads = kit.packages.filter(kind="load").select_related("place__parent").order_by("number")
    assert [one.place.parent for one in loads] == [other, yard.firm.van]
    unit.refresh_from_db()
    box = unit.place
    assert box.parent == loads[0].place
    over = yard.wanda.scan("load", "BOX-S1", **about(fresh(kit)))
    box.refresh_from_db()
    assert (over.verdict, box.parent) == ("applied", loads[1].place)


def test_a_cancelled_job_is_not_released(yard: Yard) -> None:
    """What was worked out for it stays as a record."""
    job = yard.job()
    kit = packing.work_out_kit(job, yard.mona.person)
    visiting.cancel_job(job, yard.mona.person)

    with pytest.raises(Refused, match="cancelled"):
        packing.release(kit, yard.mona.person)


def test_a_site_s_place_names_nobody(yard: Yard) -> None:
    """Name and address stand in the erasable row alone."""
    assert CONFIGURATION["family"] == "tower"
    assert "invented" not in yard.site.place.name
    assert yard.site.place.code.startswith("LBB")


def test_what_was_packed_for_a_cancelled_job_goes_back(yard: Yard, kit: Kit) -> None:
    """All of it is left over; a scan brings it to the shelf, and then nothing is."""
    yard.box("S1")
    yard.shelve("CT-SCREW5", 20)
    assert yard.wanda.scan("pick", "BOX-S1", **about(kit)).verdict == "applied"
    assert yard.wanda.scan("pick", "CT-SCREW5", **about(kit, quantity=9)).verdict == "applied"
    assert fold(fresh(kit)).to_put_back == []
    visiting.cancel_job(kit.job, yard.mona.person)

    over = {t.item.code: t.left_over for t in fold(fresh(kit)).to_put_back}
    assert over == {"CT-MODULE": 1, "CT-SCREW5": 9}
    for text in ("BOX-S1", "CT-SCREW5"):
        done = yard.wanda.scan("put_back", text, target=yard.firm.bins[0].code, **about(kit))
        assert done.verdict == "applied", done.sentence
    assert fold(fresh(kit)).to_put_back == []
    assert stock_in([yard.firm.bins[0]], Item.objects.get(code="CT-SCREW5"))[0].quantity == 20
