"""A session holds until it ends, is taken away, or its person leaves."""

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from inventory.models import Person

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("how", ["ended", "taken away", "left", "another password"])
def test_a_session_ends(how: str) -> None:
    """And whoever comes with it then is asked to sign in."""
    client = Client()
    person = Person.objects.create_user("mona", "twelve letters and more", roles=["manager"])
    assert client.login(username="mona", password="twelve letters and more")
    assert client.get("/stock/").status_code == 200

    if how == "ended":
        Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    elif how == "taken away":
        Session.objects.all().delete()
    elif how == "left":
        Person.objects.filter(pk=person.pk).update(is_active=False)
    else:
        person.set_password("twelve letters and others")
        person.save()
    answer = client.get("/stock/")

    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-in?next=/stock/")
