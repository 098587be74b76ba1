"""A plan changes: another van or day, split, a van that fails; each thing has its destination."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import charging
from inventory.models import Item, Lot, Person, Place
from inventory.placing import make
from kitting import overviews, packing, rechecking, travelling, vans, vans_out, visiting, whereto
from kitting.models import Job, Kit, Package, VanOut
from kitting.packing import Refused
from kitting.progress import fold
from kitting.vans_out import To
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import DAY, Yard, about, fresh

LATER = DAY + timedelta(days=7)


@pytest.fixture
def second(yard: Yard) -> Place:
    return make("van", "Van 2")


@pytest.fixture
def loaded(yard: Yard, second: Place) -> Kit:
    """On Van 1 a parcel with two brackets, a module in its box, loose cable; one in the bay."""
    kit = yard.kit()
    yard.shelve("CT-BRACKET", 2)
    yard.shelve("CT-AC4", 9000)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    yard.wanda.scan("pick", "CT-AC4", **about(kit))
    for code in (parcel(kit).code, "CT-AC4"):
        assert yard.wanda.scan("load", code, **about(kit)).verdict == "applied"
    carry(yard, kit, "S1")
    yard.box("S2")
    yard.wanda.scan("pick", "BOX-S2", **about(kit))
    return fresh(kit)


def parcel(kit: Kit) -> Place:
    return Package.objects.get(kit=kit, kind="parcel", number=1).place


def change(yard: Yard, kit: Kit, **changes: object) -> Kit:
    job = Job.objects.get(pk=kit.job_id)
    asked = {"day": job.date, "leaves_at": None, "van": job.van, "crew": [yard.tariq.person]}
    visiting.change_job(job, by=yard.mona.person, **{**asked, **changes})
    return fresh(kit)


def going(kit: Kit) -> dict[str, tuple[str, str, bool]]:
    return {one.what: (one.at, one.to, one.done) for one in whereto.of_kit(kit, DAY)}


def word(kit: Kit) -> str:
    """How the job stands where it lacks nothing on the shelves."""
    job = Job.objects.annotate(apart=travelling.in_another_van()).get(pk=kit.job_id)
    return overviews.APART.word if job.apart else ""


def test_a_loaded_kit_changes_its_van_and_the_new_crew_scans_each_parcel_once(
    yard: Yard, second: Place, loaded: Kit
) -> None:
    """No unloading before: one act, then one scan for each parcel, box and loose thing."""
    kit = change(yard, loaded, van=second, crew=[yard.tove.person])
    assert going(kit)["Parcel 1"] == ("Van 1", "Van 2", False)
    assert going(kit)["battery module S2"][1:] == ("Van 2", False)
    assert [one.loaded for one in travelling.loads_of(kit)] == [False] * 4
    assert word(kit) == "To move over"
    wrong = yard.tove.scan("load", parcel(kit).code, target="VAN1", **about(kit))
    told = f"Parcel 1 is on the van already. {kit.code} leaves with Van 2. Van 1 has it now."
    assert (wrong.verdict, wrong.sentence) == ("problem", told)

    codes = (parcel(kit).code, "BOX-S1", "BOX-S2", "CT-AC4")
    over = [yard.tove.scan("load", code, **about(kit)) for code in codes]
    again = yard.tove.scan("load", parcel(kit).code, **about(kit))

    assert [one.verdict for one in over] == ["applied"] * 4, [one.sentence for one in over]
    assert over[0].sentence == "Parcel 1 loaded on Van 2, over from Van 1."
    assert again.verdict == "noted"
    assert word(kit) != "To move over"
    assert {to for _, to, done in going(kit).values() if done} == {"stays on Van 2"}
    totals = fold(kit).totals
    assert [totals[c].loaded for c in ("CT-BRACKET", "CT-AC4", "CT-MODULE")] == [2, 5200, 2]


def test_a_plain_change_of_van_asks_the_new_van_s_rules(yard: Yard, second: Place) -> None:
    """Payload, carriage and lifts of the van and crew that go now, packed or not, not of those
    before; the figures are those of the van's papers and of what else rides on it."""
    papers = {"gross_kg": 2400, "ready_kg": 2150, "with_driver": True, "persons": 1}
    vans.enter_papers(second, yard.mona.person, **papers, fitted_kg=0)
    other, job = yard.job(stacks=[{"modules": 4}, {"modules": 4}], gap=200), yard.job()
    pair = [yard.tariq.person, yard.tove.person]
    change(yard, packing.work_out_kit(other, yard.mona.person), van=second, crew=pair)
    desk, page = Client(), reverse("job_visit", args=[job.code])
    desk.force_login(yard.mona.person)

    def past(van: Place, crew: list[Person]) -> dict[str, str]:
        """Rules past their figure as the page says them after the change, with its words."""
        sent = {"date": str(DAY), "leaves_at": "", "van": van.pk, "crew": [one.pk for one in crew]}
        words = desk.post(page, sent, follow=True).content.decode()
        assert re.findall(r">(Van \d) on ", words) == [van.name]
        assert ("What the van may carry is not entered" in words) == (van != second)
        return dict(re.findall(r"past the figure</span> <strong>([^<]+)</strong> ([^<]+)<", words))

    assert past(second, pair).keys() == {"payload", "lifting"}, "before it is worked out"
    kit = yard.kit(job)
    assert past(yard.firm.van, pair).keys() == {"lifting"}
    both, alone = past(second, pair), past(second, pair[:1])
    assert both.keys() == alone.keys() == {"ADR 1.1.3.6", "payload", "lifting"}
    assert "380.0 kg" in both["ADR 1.1.3.6"]
    assert "the van has room for 250 kg" in both["payload"]
    assert "The guide for 2 people" in both["lifting"]
    assert "One person goes" in alone["lifting"]
    assert [van.name for van in travelling.vans_of(fresh(kit))] == ["Van 2"]
    visiting.cancel_job(other, yard.mona.person)
    assert past(second, pair).keys() == {"lifting"}


def test_what_is_put_off_comes_off_a_van_that_goes_out_before(yard: Yard, loaded: Kit) -> None:
    """On a van that stays it stays; else it goes to its bay by one scan each, and out again."""
    kit = change(yard, loaded, day=LATER)
    assert going(kit)["Parcel 1"] == ("Van 1", "stays on Van 1", True)
    assert going(kit)["battery module S2"][1:] == ("stays at Bay at Dock until Thu 3 Dec", True)
    yard.job()
    assert going(kit)["Parcel 1"] == ("Van 1", "off Van 1, which goes out before Thu 3 Dec", False)

    off = [yard.wanda.scan("unload", c, **about(kit)) for c in (parcel(kit).code, "S1", "CT-AC4")]
    twice = yard.wanda.scan("unload", parcel(kit).code, **about(kit))
    lost = yard.wanda.scan("unload", "BOX-S1", target="VAN1", **about(kit))

    assert [one.verdict for one in off] == ["applied"] * 3, [one.sentence for one in off]
    assert twice.sentence == f"Parcel 1 is not on a van for {kit.code}."
    assert lost.sentence == "Say where it goes: scan a place of the depot."
    assert fold(kit).totals["CT-MODULE"].at_depot == 2
    assert fold(kit).totals["CT-AC4"].at_depot == 5200
    assert yard.wanda.scan("load", parcel(kit).code, **about(kit)).verdict == "applied"


def test_a_resumed_kit_is_looked_at_again(yard: Yard, loaded: Kit) -> None:
    """Set aside, expired by the new day, due to be charged: told; what is set aside and what has to
    be charged stop at the van, what has expired does not."""
    lot = Lot.objects.get(item__code="CT-BRACKET")
    Lot.objects.filter(pk=lot.pk).update(expires_on=DAY)
    module = Item.objects.get(code="CT-MODULE")
    charging.set_rule(module, up_to_c=60, days=30, recharges=None, years=None, source="manual")
    yard.wanda.scan("charged", "BOX-S2", kind="2026-11-02")
    assert rechecking.of_kit(loaded) == []
    yard.wanda.scan("unload", parcel(loaded).code, **about(loaded))
    kit = change(yard, loaded, day=LATER)
    yard.wanda.scan("set_aside", "BOX-S1", reason="recalled")

    said = rechecking.of_kit(kit)
    assert len(said) == 3
    assert said[0].endswith("is set aside: recalled")
    assert said[1].endswith("expires on 2026-11-26, before the job")
    assert "S2: has to be charged by 2026-12-02" in said[2]
    done = yard.wanda.scan("load", parcel(kit).code, **about(kit))
    assert done.verdict == "problem"
    assert done.sentence.endswith("before the job. It is in Parcel 1: take it out.")
    desk = Client()
    desk.force_login(yard.mona.person)
    for page in (reverse("job_visit", args=[kit.job.code]), reverse("kit_load", args=[kit.code])):
        assert "expires on 2026-11-26" in desk.get(page).content.decode()


def test_a_kit_is_split_over_vans_and_each_day_counts_its_part(
    yard: Yard, kit: Kit, second: Place
) -> None:
    """Each parcel goes with the van chosen for it; loose things with the one that is scanned."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    desk = Client()
    desk.force_login(yard.mona.person)
    page = reverse("job_visit", args=[kit.job.code])
    sent = {"split": "yes", "parcel-1": str(second.pk)}
    words = desk.post(page, sent, follow=True).content.decode()
    assert "split: none to Parcel 1 with Van 2" in " ".join(words.split()).replace("Split", "split")

    kit = fresh(kit)
    assert [van.name for van in travelling.vans_of(kit)] == ["Van 1", "Van 2"]
    over = yard.wanda.scan("load", parcel(kit).code, **about(kit))
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    box = yard.wanda.scan("load", "BOX-S1", target=second.code, **about(kit))
    assert [over.sentence, box.verdict] == ["Parcel 1 loaded on Van 2.", "applied"]
    first, other = (vans.day_of(van, DAY).rides for van in (yard.firm.van, second))
    names = [{piece.name: piece.count for piece in ride[0].load.out} for ride in (first, other)]
    bracket = Item.objects.get(code="CT-BRACKET").name
    assert (bracket in names[0], names[1][bracket]) == (False, 2)

    visiting.split(kit.job, {}, yard.mona.person)
    assert [van.name for van in travelling.vans_of(fresh(kit))] == ["Van 1"]
    with pytest.raises(Refused, match="no kit that could be split"):
        visiting.split(yard.job(), {}, yard.mona.person)


def test_a_van_fails_and_one_act_says_where_all_of_it_goes(
    yard: Yard, second: Place, loaded: Kit
) -> None:
    """Each job another van or day, all or nothing; what is loaded on it is told; its own things go
    over by one press each; then it is back."""
    other = yard.job()
    tool = Item.objects.create(code="DRILL", name="drill", tracking="tool")
    van = yard.firm.van
    for code in (tool.code, "CT-TERM"):
        done = yard.wanda.scan("receive", code, target="VAN1", quantity=2)
        assert done.verdict == "applied", done.sentence
    with pytest.raises(Refused, match="Say why"):
        vans_out.take_out(van, DAY, None, " ", {}, yard.mona.person)
    goes = {loaded.job_id: To(van=second), other.pk: To(day=LATER)}
    vans_out.take_out(van, DAY, DAY, "gearbox", goes, yard.mona.person)

    other.refresh_from_db()
    kit = fresh(loaded)
    assert (kit.job.van, other.van, other.date) == (second, van, LATER)
    assert going(kit)["Parcel 1"] == ("Van 1", "Van 2", False)
    late = yard.kit(yard.job())
    yard.box("S9")
    yard.wanda.scan("pick", "BOX-S9", **about(late))
    done = yard.wanda.scan("load", "BOX-S9", **about(late))
    assert (done.verdict, done.sentence) == (
        "problem",
        "Box of battery module: loaded. Van 1 is out of service: gearbox.",
    )
    yard.wanda.scan("undo", reverses=done.id)

    assert [(own.kind, own.words) for own in whereto.own_of(van)] == [
        ("tools", ("2 x drill",)),
        ("stock", ("2 x bus end plug",)),
    ]
    fields = {"start": "VAN1", "target": second.code}
    moved = [yard.tove.scan("carry_over", kind=kind, **fields) for kind in ("tools", "stock")]
    again = yard.tove.scan("carry_over", kind="stock", **fields)
    assert [one.verdict for one in (*moved, again)] == ["applied", "applied", "noted"]
    assert (whereto.own_of(van), len(whereto.own_of(second))) == ([], 2)

    desk = Client()
    desk.force_login(yard.mona.person)
    page = reverse("van_out", args=[van.code])
    assert "gearbox" in desk.get(page).content.decode()
    desk.post(page, {"back": "yes"})
    assert VanOut.objects.count() == 2
    assert yard.wanda.scan("load", "BOX-S9", **about(late)).verdict == "applied"


def test_a_van_is_taken_out_on_its_page(yard: Yard, second: Place) -> None:
    """The page sends each job where its line says; what is not said stays for somebody."""
    site = packing.open_site("Another house", "2 Example Lane")
    jobs = [yard.job(), yard.job(site=site), yard.job()]
    Job.objects.filter(pk__in=[job.pk for job in jobs]).update(date=LATER)
    desk = Client()
    desk.force_login(yard.mona.person)
    sent = {"first": f"{DAY}", "reason": "no brakes", f"job-{jobs[0].code}": f"van-{second.pk}"}
    sent |= {f"job-{jobs[1].code}": "later", f"job-{jobs[2].code}": ""}
    page = desk.post(reverse("van_out", args=[yard.firm.van.code]), sent, follow=True)

    assert "no brakes" in page.content.decode()
    for job in jobs:
        job.refresh_from_db()
    assert [job.van for job in jobs] == [second, yard.firm.van, yard.firm.van]
    assert [job.date - LATER for job in jobs] == [timedelta(0), timedelta(1), timedelta(0)]
