"""The manager's plan: a job is planned, its kit read and released, the week looked at."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from kitting.demo.opening import Opening
from kitting.models import Job
from tests.stories import the_firm
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: Any) -> Iterator[Opening]:
    """The firm with one item counted: none of it is there."""
    with django_db_blocker.unblock(), the_firm.scene(stock="LR-ENDC-R") as found:
        yield found


def answers(opened, key: str, **changes: str) -> dict[str, object]:
    """What is chosen and typed on the planning page for a job of the week."""
    job = next(job for job in opened.firm.jobs if job.key == key)
    return {
        "site_name": job.site,
        "address": job.address,
        "date": job.date.isoformat(),
        "leaves_at": job.leaves_at,
        "van": str(opened.places[job.van].pk),
        "crew": [str(opened.people[name].pk) for name in job.crew],
        "family": job.family,
        "job": job.job,
        "stacks": job.stacks,
        **{f"about_{name}": value for name, value in {**job.answers, **changes}.items()},
    }


PLAN = "Plan it and work out the kit"


def test_a_job_is_planned_and_released_from_two_pages(opened: Opening) -> None:
    """Plan, look at the lines with their reasons, release: the warehouse has it at once."""
    hands = Hands(opened.people["mona"]).begin("/jobs/new")
    where = hands.submit("/jobs/new", PLAN, **answers(opened, "tower"))
    job = Job.objects.get()

    assert where == f"/jobs/{job.code}/"
    assert job.kit is not None
    assert "bus end plug, weather-tight" in hands.page.words
    assert "2 ends" in hands.page.words  # the arithmetic of that line stands beside it
    hands.begin(where)
    assert hands.submit(where, "Release to the warehouse") == where
    assert (hands.touches, hands.typed) == (1, 0)
    bench = Hands(opened.people["wanda"]).begin("/kits/")
    assert job.code in bench.page.words


def test_a_stack_beyond_its_limits_is_refused_with_every_reason_at_once(opened: Opening) -> None:
    """Nothing is stored, and all three broken limits are named."""
    hands = Hands(opened.people["mona"]).begin("/jobs/new")
    asked = answers(opened, "tower", mount="wall", wall="aerated")
    asked.pop("about_covering")  # asked of solid walls only

    assert hands.submit("/jobs/new", PLAN, **{**asked, "stacks": "5"}) == ""
    assert "On the wall a stack has 1 to 4 modules" in hands.page.words
    assert "No wall mounting on an aerated wall" in hands.page.words
    assert "expected at most 180 kg, got 212 kg" in hands.page.words
    assert not Job.objects.exists()


def test_a_two_stack_job_takes_forty_touches_and_characters(opened: Opening) -> None:
    """At a new site, planned by somebody who planned a tower before: habits are filled in.

    Lengths of another house are not, and stay to be measured and typed.
    """
    the_firm.release(opened, "tower")
    where, tariq = "/jobs/new", str(opened.people["tariq"].pk)
    hands = Hands(opened.people["mona"]).begin(where)
    hands.answer(where, PLAN, site_name="Rowan House", crew=tariq)
    hands.turn(where, PLAN, "stacks 1 +")
    hands.turn(where, PLAN, "stacks add")
    habits = {n: v for n, v in hands.page.form_with(PLAN).fields.items() if n.startswith("about_")}
    measured = {n for n, v in habits.items() if not v}
    runs = {"about_gap": "300", "about_ac_run": "4.2", "about_data_run": "6m"}
    runs |= {"about_earth_run": "2.5", "about_ac_od": "unknown", "about_data_od": "unknown"}
    runs |= {"about_covering": "10"} if "about_covering" in measured else {}
    assert runs.keys() == measured
    hands.answer(where, PLAN, **runs)
    assert re.search(r"\d+ lines, \d+ kg, 2 open", hands.page.words)
    planned = hands.submit(where, PLAN)

    assert hands.touches + hands.typed <= 40, (hands.touches, hands.typed)
    job = Job.objects.get(code=planned.split("/")[2])
    assert [stack["modules"] for stack in job.configuration["stacks"]] == [2, 2]
    assert (job.configuration["ac_run"], job.configuration["data_run"]) == (4200, 6000)
    assert job.crew.get().username == "tariq"


def test_the_same_site_again_is_filled_in_whole(opened: Opening) -> None:
    """Chosen from the list, a site brings the lengths that were measured there."""
    job = the_firm.release(opened, "tower").job
    where = "/jobs/new"
    hands = Hands(opened.people["mona"]).begin(where)
    hands.answer(where, PLAN, site=job.site.place.code)

    fields = hands.page.form_with(PLAN).fields
    assert fields["about_ac_run"] == str(job.configuration["ac_run"])
    assert job.code in hands.page.words


def test_the_week_tells_which_job_will_break_and_why(opened: Opening) -> None:
    """A released kit that the shelves do not cover stands out, with what is short."""
    kit = the_firm.release(opened, "row")
    hands = Hands(opened.people["mona"]).begin(f"/week/?from={kit.job.date}")

    assert "Will break" in hands.page.words
    assert "end cover, right: 1 needed, 0 here" in hands.page.words
    hands.follow(kit.job.code)
    assert hands.touches == 1
    assert "end cover, right" in hands.page.words
