"""Who sees which job."""

from uuid import uuid4

import pytest
from django.http import Http404

from inventory import subjects
from kitting import access
from kitting.models import Kit
from tests.kitting.yard import Yard, about


def test_a_technician_sees_own_jobs_only(yard: Yard, kit: Kit) -> None:
    """Job, kit, site and subject alike; the desk sees all."""
    foreign = yard.kit(yard.job(crew=yard.tove))
    tariq, desk = yard.tariq.person, yard.wanda.person

    assert access.job_read(tariq, kit.job.code) == kit.job
    assert access.kit_read(tariq, kit.code) == kit
    assert access.kit_read(tariq, kit.uid) == kit
    assert access.kit_read(tariq, kit.job.code) == kit
    assert access.own_kit_read(tariq, kit.job.code) == kit
    assert access.site_read(tariq, yard.site.uid) == yard.site
    assert list(access.jobs_of(desk).order_by("code")) == [kit.job, foreign.job]
    assert subjects.may_see(tariq, kit.subject)
    assert not subjects.may_see(tariq, foreign.subject)
    for read in (access.job_read, access.kit_read, access.own_kit_read):
        with pytest.raises(Http404):
            read(tariq, foreign.job.code)
    with pytest.raises(Http404):
        access.own_kit_read(desk, kit.job.code)
    with pytest.raises(Http404):
        access.site_read(tariq, uuid4())


def test_only_the_desk_changes(yard: Yard, kit: Kit) -> None:
    """Managers plan, warehouse and managers release and pick."""
    assert access.job_write(yard.mona.person, kit.job.code) == kit.job
    assert access.kit_write(yard.wanda.person, kit.code) == kit
    for person in (yard.tariq.person, yard.wanda.person):
        with pytest.raises(Http404):
            access.job_write(person, kit.job.code)
    with pytest.raises(Http404):
        access.kit_write(yard.tariq.person, kit.code)


def test_an_event_for_a_foreign_or_unknown_kit_is_refused_and_not_stored(
    yard: Yard, kit: Kit
) -> None:
    """All three read the same, so nobody learns which jobs exist."""
    foreign = yard.kit(yard.job(crew=yard.tove))
    answers = [
        yard.tariq.scan("unbox", "S1", subject=subject)
        for subject in (foreign.subject, "kit:J9999-1", "other:thing")
    ]
    none = yard.tariq.scan("unbox", "S1")

    assert {(a.verdict, a.sentence) for a in [*answers, none]} == {("refused", "No such job.")}


def test_one_who_has_left_sees_nothing(yard: Yard, kit: Kit) -> None:
    """Even with the job still in the crew."""
    tariq = yard.tariq.person
    tariq.is_active = False
    tariq.save()

    assert not access.jobs_of(tariq)
    assert yard.tariq.scan("unbox", "S1", **about(kit)).verdict == "refused"


def test_a_technician_does_not_pick(yard: Yard, kit: Kit) -> None:
    """Picking is for warehouse and managers."""
    assert yard.tariq.scan("pick", "S1", **about(kit)).sentence == "You may not do this."
