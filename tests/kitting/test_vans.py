"""A van's day on the pages: its jobs together, its papers, who may enter them."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.models import Amendment
from kitting import packing, vans, visiting
from kitting.models import Job, VanFacts
from kitting.plan.van import ABOARD
from tests.kitting.test_unboxing import carry as carry_units
from tests.kitting.yard import DAY, Yard, about

PAPERS = {"gross_kg": "3500", "ready_kg": "2150", "with_driver": "on", "persons": "2"}
PAPERS |= {"fitted_kg": "120", "wheelbase_mm": "3500", "load_at_mm": "2600"}


def browser(yard: Yard, who: str) -> Client:
    client = Client()
    client.force_login(getattr(yard, who).person)
    return client


def test_five_jobs_on_one_van_are_flagged_with_the_split(yard: Yard) -> None:
    """Each job's 76 kg of batteries is little; together they pass 333 kg, and the page tells whose
    they are, on the way from the week and from loading."""
    van = yard.firm.van
    jobs = [
        yard.job(site=packing.open_site(f"House {number}", f"{number} Elm Row"))
        for number in range(1, 6)
    ]
    kits = [yard.kit(job) for job in jobs]
    manager, where = browser(yard, "mona"), reverse("van_day", args=[van.code, DAY])
    week = manager.get(f"{reverse('week')}?from={DAY}").content.decode()
    loading = browser(yard, "wanda").get(reverse("kit_load", args=[kits[0].code])).content.decode()
    html = manager.get(where).content.decode()
    found = vans.day_of(van, DAY)
    (carriage,) = (one for one in found.checked.findings if one.rule == "ADR 1.1.3.6")

    assert (where in week, where in loading) == (True, True)
    assert (carriage.tone, carriage.figures["kg"], carriage.figures["points"]) == (
        "over",
        380,
        1140,
    )
    assert [one.batteries for one in found.checked.shares] == [76] * 5
    assert all(job.code in html for job in jobs)
    assert html.count("76.0 kg") == 5
    assert "380.0 kg of the 333 kg of category 2" in html
    assert "dangerous goods adviser" in html

    visiting.cancel_job(jobs[0], yard.mona.person)
    assert vans.day_of(van, DAY).checked.findings[0].tone == "within"


def test_a_swap_counts_out_and_back_and_what_is_on_board_rides_along(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The swapped unit weighs on the way home; a module brought back before and not unloaded counts
    on the next day out, no later; what today's own kit brings back is not counted twice."""
    van, first = yard.firm.van, yard.kit()
    carry_units(yard, first, "S1", "S2")
    for serial, level in (("S1", 1), ("S2", 2)):
        yard.tariq.scan("unbox", serial, **about(first))
        if level == 1:
            yard.tariq.scan("fit", serial, position={"stack": 1, "level": 1}, **about(first))
    yard.tariq.scan("bring_back", "S2", **about(first))
    same_day = vans.day_of(van, DAY, today=DAY).checked
    tomorrow, later = DAY + timedelta(days=1), DAY + timedelta(days=2)
    swap = yard.kit(yard.job(job="swap", swap=[{"stack": 1, "level": 1}]))
    Job.objects.filter(pk=swap.job_id).update(date=tomorrow)
    unloaded = vans.day_of(van, tomorrow, today=tomorrow)

    assert all(share.job != ABOARD for share in same_day.shares)
    assert [(s.job, s.batteries) for s in unloaded.checked.shares] == [
        (swap.job.code, 38),
        (ABOARD, 38),
    ]
    assert [piece.count for piece in unloaded.rides[0].load.back] == [1]
    assert vans.day_of(van, tomorrow, today=DAY).checked.shares[-1].job != ABOARD
    assert all(s.job != ABOARD for s in vans.day_of(van, later, today=DAY).checked.shares)
    where = reverse("van_day", args=[van.code, tomorrow])
    monkeypatch.setattr(timezone, "localdate", lambda: tomorrow)
    assert "On board from before" in browser(yard, "mona").get(where).content.decode()


def test_a_manager_enters_what_the_papers_say(yard: Yard) -> None:
    """Before, payload is a question; then a figure, with the driver inside the running order."""
    yard.job()
    van, where = yard.firm.van, reverse("van_day", args=[yard.firm.van.code, DAY])
    manager = browser(yard, "mona")
    before = manager.get(where).content.decode()
    answer = manager.post(where, PAPERS)
    after = manager.get(where).content.decode()
    facts = VanFacts.objects.get(place=van)
    manager.post(where, PAPERS | {"gross_kg": "3200"})
    manager.post(where, PAPERS | {"gross_kg": "3200"})
    told = Amendment.objects.filter(about=f"van's papers:{van.code}")
    figures = [(one.was.get("gross_kg"), one.now["gross_kg"], one.by) for one in told]

    assert "is not entered" in before
    assert answer.status_code == 302
    assert (facts.gross_kg, facts.with_driver, facts.entered_by) == (3500, True, yard.mona.person)
    assert "the van has room for 1155 kg" in after
    assert "rear axle" in after
    assert figures == [(None, 3500, yard.mona.person), (3500, 3200, yard.mona.person)]


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("ready_kg", "3500", "May weigh in all (kg): expected more than 3500, got 3500"),
        ("persons", "0", "expected at least 1, got 0"),
        ("gross_kg", "999999", "expected at most 60000, got 999999"),
        ("fitted_kg", "much", "expected a whole number, got &#x27;much&#x27;"),
    ],
)
def test_papers_that_cannot_be_are_refused(yard: Yard, name: str, value: str, told: str) -> None:
    """Nothing is stored, and the page says what was expected."""
    where = reverse("van_day", args=[yard.firm.van.code, DAY])
    answer = browser(yard, "mona").post(where, PAPERS | {name: value})

    assert told in answer.content.decode()
    assert not VanFacts.objects.exists()


def test_the_warehouse_reads_and_does_not_enter(yard: Yard) -> None:
    """It sees the day and no form; a day that is none and a place that is no van are not there."""
    van, warehouse = yard.firm.van, browser(yard, "wanda")
    html = warehouse.get(reverse("van_day", args=[van.code, DAY])).content.decode()

    assert "What the rules say" in html
    assert "Enter the papers" not in html
    for code, day in ((van.code, "2026-13-01"), (van.code, "today"), (yard.firm.dock.code, DAY)):
        assert warehouse.get(reverse("van_day", args=[code, day])).status_code == 404


def test_the_database_keeps_papers_that_can_be(yard: Yard) -> None:
    """A van weighs less than it may; somebody drives it."""
    person = yard.mona.person
    for wrong in ({"gross_kg": 2000}, {"persons": 0}):
        papers = {"gross_kg": 3500, "ready_kg": 2150, "persons": 1} | wrong
        with pytest.raises(IntegrityError), transaction.atomic():
            VanFacts.objects.create(place=yard.firm.van, entered_by=person, **papers)
