"""A job beside another, or beside a changed copy of itself; nothing is stored."""

import pytest
from django.test import Client
from django.urls import reverse

from kitting.families import family_of
from kitting.models import Job, Kit
from kitting.planning import as_fields
from tests.people import Cast
from tests.stories.reading_pages import Page

LIVE = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def mona(db: None, cast: Cast) -> Client:
    return cast.clients["manager"]


def words(answer) -> str:
    assert answer.status_code == 200
    return Page(answer.content.decode()).words


def test_a_changed_copy_is_told_item_by_item(mona: Client, cast: Cast) -> None:
    """One module more: what was, what would be, and the rule on either side."""
    job = cast.works["technician"].job
    where = reverse("job_compare", args=[job.code])
    kit = job.kit
    fields = as_fields(kit.snapshot["configuration"], family_of(kit.edition))
    more = {**fields, "stacks": str(int(fields["stacks"]) + 1)}
    same = words(mona.get(where))
    changed = words(mona.post(where, more))
    live = mona.post(where, {**more, "ask": "yes", "shown": []}, **LIVE).content.decode()

    assert "Nothing differs" in same
    assert f"Modules in each stack {fields['stacks']} {more['stacks']}" in changed
    assert "the parts list has 5 for 1 module" in changed
    assert "the parts list has 9 for 2 modules" in changed
    assert 'id="comparison" hx-swap-oob="true"' in live
    assert (Job.objects.count(), Kit.objects.count()) == (2, 2)


def test_a_copy_that_breaks_a_limit_says_so_instead(mona: Client, cast: Cast) -> None:
    """Seven modules are beyond the list: nothing is compared, and the field says why."""
    job = cast.works["technician"].job
    fields = as_fields(job.configuration, family_of(job.kit.edition))
    told = words(mona.post(reverse("job_compare", args=[job.code]), {**fields, "stacks": "7"}))

    assert "expected 1 to 6 modules, got 7" in told
    assert "As soon as all is answered" in told


def test_two_jobs_stand_side_by_side(mona: Client, cast: Cast) -> None:
    """Chosen from the list; the same configuration at two sites differs in nothing."""
    one, other = (cast.works[member].job for member in ("technician", "other_technician"))
    where = reverse("job_compare", args=[one.code])

    assert f"{one.code} beside {other.code}" in words(mona.get(where, {"with": other.code}))
    assert "Nothing differs" in words(mona.get(where, {"with": other.code}))
    assert mona.get(where, {"with": "J9999"}).status_code == 404
