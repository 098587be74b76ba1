"""A session holds until it ends, is taken away, or its person leaves."""

import threading
from datetime import timedelta

import pytest
from django.db import connections
from django.test import Client
from django.utils import timezone

from inventory.models import Person, SignIn
from inventory.wrong_passwords import COUNTS_FOR, OF_ONE, begin, words

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("how", ["ended", "taken away", "left", "another password"])
def test_a_session_ends(how: str) -> None:
    """And whoever comes with it then is asked to sign in."""
    client = Client()
    person = Person.objects.create_user("mona", "twelve letters and more", roles=["manager"])
    assert client.login(username="mona", password="twelve letters and more")
    assert client.get("/stock/").status_code == 200

    if how == "ended":
        SignIn.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    elif how == "taken away":
        SignIn.objects.all().delete()
    elif how == "left":
        Person.objects.filter(pk=person.pk).update(is_active=False)
    else:
        person.set_password("twelve letters and others")
        person.save()
    answer = client.get("/stock/")

    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-in?next=/stock/")


@pytest.mark.django_db(transaction=True)
def test_tries_at_one_moment_are_counted_one_by_one() -> None:
    """Eight browsers press together: five are looked at."""
    waits: list[timedelta] = []
    together, now = threading.Barrier(8), timezone.now()

    def press() -> None:
        try:
            together.wait(30)
            waits.append(begin("wanda", "192.0.2.7", now))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=press) for _ in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join(60)

    assert sorted(waits) == [timedelta()] * OF_ONE + [COUNTS_FOR] * 3
    assert words(COUNTS_FOR) == "Too many wrong passwords from here. Try again in 15 min."
