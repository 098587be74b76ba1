"""The list of what a new firm enters goes by itself."""

import pytest

from inventory.models import Event, Person
from kitting import first_day
from kitting.models import Kit
from tests.people import Cast


def test_the_list_is_gone_when_nothing_is_to_do(cast: Cast) -> None:
    """A firm with a job, stock and stacks that stand has the week's page to itself."""
    assert first_day.first_steps() == []
    assert "The first day" not in cast.clients["manager"].get("/week/").content.decode()


@pytest.mark.django_db
def test_the_list_is_gone_once_a_kit_was_closed(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a firm leaves out on purpose is not held before it for ever."""
    nobody = Person.objects.filter(name="-").all
    never = first_day._Step("people", "Somebody who never comes", "", (nobody,))
    monkeypatch.setattr(first_day, "_STEPS", (never,))
    assert [step.done for step in first_day.first_steps()] == [False]

    Kit.objects.filter(pk=cast.works["technician"].kit.pk).update(closed_by=Event.objects.first())
    assert first_day.first_steps() == []
