"""A technician of another crew sees nothing of a job that is not theirs."""

from collections.abc import Iterator
from typing import Any

import pytest

from inventory.digest import digest
from inventory.models import Event
from kitting.demo.opening import Opening
from kitting.models import Kit
from tests.stories import the_firm
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
PAGES = ("", "load", "unbox", "fit", "problem", "back")


@pytest.fixture(scope="module")
def two_jobs(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Opening, Kit, Kit]]:
    """Tariq's tower and Tove's row, both released; each test's own changes go again."""
    with django_db_blocker.unblock(), the_firm.scene() as opened:
        yield opened, the_firm.release(opened, "tower"), the_firm.release(opened, "row")


def test_the_list_shows_only_own_jobs(two_jobs) -> None:
    """Neither code nor address of the other job is on the page."""
    opened, tower, row = two_jobs
    hands = Hands(opened.people["tove"]).begin("/my/")

    assert row.job.code in hands.page.words
    assert tower.job.code not in hands.page.words
    assert tower.job.site.address not in hands.page.words


@pytest.mark.parametrize("page", PAGES)
def test_a_foreign_job_is_not_there(two_jobs, page: str) -> None:
    """Each page of it answers 404 and shows nothing of it."""
    opened, tower, _ = two_jobs
    client = Hands(opened.people["tove"]).client

    answer = client.get(f"/my/{tower.job.code}/{page}")

    assert answer.status_code == 404
    assert tower.job.site.name not in answer.content.decode()


def test_a_foreign_bag_names_neither_kit_nor_job(two_jobs) -> None:
    """Two claims: nothing moves, and the words tell nothing but what to do."""
    opened, tower, row = two_jobs
    hands = Hands(opened.people["tove"]).begin(f"/my/{row.job.code}/unbox")
    bag = tower.packages.filter(kind="bag").first().place

    assert hands.scan(bag.code) == "dispute"
    assert hands.said == (
        "This belongs to another job. Set it aside for the warehouse. The office decides."
    )


def test_an_event_for_a_foreign_kit_is_refused_and_changes_nothing(two_jobs) -> None:
    """The answer is that of a kit that does not exist; the digest stays."""
    opened, tower, row = two_jobs
    hands = Hands(opened.people["tove"]).begin(f"/my/{row.job.code}/unbox")
    before, events = digest(), Event.objects.count()
    bag = tower.packages.filter(kind="bag").first().place
    assert hands.page.pad is not None

    hands.page.pad.subject = tower.subject
    foreign = hands.scan(bag.code), hands.said
    hands.page.pad.subject = "kit:J9999-1"
    unknown = hands.scan(bag.code), hands.said

    assert foreign == unknown == ("refused", "No such job.")
    assert (digest(), Event.objects.count()) == (before, events)
