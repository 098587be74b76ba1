"""A job's visit on one page: put off with a press, another crew, refused with every reason."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Place
from tests.people import Cast


@pytest.fixture
def mona(db: None, cast: Cast) -> Client:
    return cast.clients["manager"]


def test_a_job_is_put_off_with_one_press(mona: Client, cast: Cast) -> None:
    """A week later: van, hour and crew stay, and what was packed stays packed."""
    job = cast.works["technician"].job
    where, crew = reverse("job_visit", args=[job.code]), set(job.crew.all())
    answer = mona.post(where, {"put_off": "week"}, follow=True)

    before = job.date
    job.refresh_from_db()
    assert job.date == before + timedelta(days=7)
    assert set(job.crew.all()) == crew
    assert f"{job.code} leaves on Thursday 3." in answer.content.decode()


def test_another_van_and_another_day(mona: Client, cast: Cast) -> None:
    """Nothing lies on the old van; a day that does not exist is said at its field."""
    work = cast.works["technician"]
    job, where = work.job, reverse("job_visit", args=[work.job.code])
    other = Place.objects.create(kind="van", code="VAN2", name="Van 2")
    crew = [str(person.pk) for person in job.crew.all()]
    sent = {"date": "2026-11-31", "van": str(other.pk), "crew": crew}
    wrong = mona.post(where, sent).content.decode()
    far = mona.post(where, {**sent, "date": "0206-12-01"}).content.decode()
    moved = mona.post(where, {**sent, "date": "2026-12-01"})

    assert "expected a date" in wrong
    assert "expected a day from 2000-01-01 to 2099-12-31, got 0206-12-01" in far
    assert moved.status_code == 302
    job.refresh_from_db()
    assert (job.van, job.date.isoformat()) == (other, "2026-12-01")


def test_cancelling_shows_first_what_is_packed(mona: Client, cast: Cast) -> None:
    """The button stands beside what is packed already; afterwards the page says it is cancelled."""
    job = cast.works["technician"].job
    where = reverse("job_visit", args=[job.code])

    assert "stays in its parcels until somebody brings it back" in mona.get(where).content.decode()
    mona.post(reverse("job", args=[job.code]), {"cancel": "yes"})
    assert "This job was cancelled" in mona.get(where).content.decode()
    page = mona.get(reverse("job", args=[job.code])).content.decode()
    assert "The job is cancelled. This is packed and no longer wanted" in page
    assert reverse("kit_put_back", args=[job.kit.code]) in page
    late = mona.post(where, {"put_off": "week"}).content.decode()
    assert f"{job.code} is cancelled" in late
    pads = [("warehouse", name, job.kit.code) for name in ("kit_load", "kit_pick")]
    mine = ("back", "differs", "fit", "load", "problem", "unbox")
    pads += [("technician", f"my_{name}", job.code) for name in mine]
    for member, name, code in pads:
        pad = cast.clients[member].get(reverse(name, args=[code])).content.decode()
        assert pad.count("This job was cancelled on") == 1, name
