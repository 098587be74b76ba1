"""How long a sign-in lasts: OWASP ASVS 5.0, 7.3.1 and 7.3.2; the hours are README's."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from unittest import mock

import pytest
from django.test import Client
from django.utils import timezone

from inventory.models import Device, Person, SignIn
from tests.firm import Phone
from tests.people import PASSWORD, Cast

OWN = "/my/own/sign-in"
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


class Clock:
    """What time it is."""

    def __init__(self) -> None:
        self.now = timezone.now()

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock(db: None, cast: Cast) -> Iterator[Clock]:
    found = Clock()
    with mock.patch("django.utils.timezone.now", found):
        yield found


def signs_in(name: str, client: Client | None = None) -> Client:
    client = client or Client()
    typed = {"username": name, "password": PASSWORD}
    assert client.post("/sign-in", typed).status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get(OWN).status_code == 200


def ends(client: Client) -> int:
    return int(client.get("/api/my/codes").headers["X-Session-Ends"])


def test_unused_it_lasts_fourteen_days(clock: Clock) -> None:
    """Of whom no page is asked for so long; a visit meanwhile begins the time anew."""
    left, used = signs_in("tove"), signs_in("tove")
    clock.now += 13 * DAY
    assert is_in(used)
    clock.now += DAY
    assert not is_in(left)
    assert is_in(used)
    assert ends(used) == int((clock.now + 14 * DAY).timestamp())


def test_however_often_used_it_lasts_ninety_days(clock: Clock) -> None:
    """The line Ready without signal is told the sooner of both ends."""
    tove, began = signs_in("tove"), clock.now
    for _ in range(8):
        clock.now += 11 * DAY
        assert is_in(tove)
    assert ends(tove) == int((began + 90 * DAY).timestamp())
    clock.now = began + 90 * DAY - HOUR
    assert is_in(tove)
    clock.now += HOUR
    assert not is_in(tove)
    assert not SignIn.objects.filter(pk=tove.session.session_key, person__username="tove").exists()


def test_a_manager_is_in_for_twelve_hours(clock: Clock) -> None:
    """Used or not, also one made so since; signing in again before that begins them anew."""
    mona, again, tove = signs_in("mona"), signs_in("mona"), signs_in("tove")
    clock.now += 11 * HOUR
    assert is_in(mona)
    signs_in("mona", again)
    clock.now += HOUR
    assert (is_in(mona), is_in(again), is_in(tove)) == (False, True, True)
    person = Person.objects.get(username="tove")
    Person.objects.filter(pk=person.pk).update(roles=["manager", "technician"])
    assert not is_in(tove)


def test_what_a_phone_did_not_send_goes_out_after_signing_in_again(clock: Clock) -> None:
    """Refused as one signed out, not taken as anybody else's; then taken, once, as before."""
    tove = signs_in("tove")
    person = Person.objects.get(username="tove")
    phone = Phone(person, Device.objects.create(person=person))
    line = phone.line("missing", "CT-BOLT6", quantity=1, subject="kit:none")
    clock.now += 91 * DAY
    headers = {"X-Person": str(person.uid)}

    def sent() -> int:
        kind = "application/x-ndjson"
        return tove.post("/api/events", line, content_type=kind, headers=headers).status_code

    assert sent() == 403
    signs_in("tariq", tove)
    assert sent() == 403
    signs_in("tove", tove)
    assert sent() == 200


def test_not_each_page_writes(clock: Clock) -> None:
    """A day's pages write nothing; the first of the next day begins the time anew, once."""
    tove = signs_in("tove")
    rows = SignIn.objects.filter(person__username="tove", pk=tove.session.session_key)
    before = rows.values().get()
    clock.now += DAY - HOUR
    assert is_in(tove)
    assert rows.values().get() == before
    clock.now += HOUR
    assert is_in(tove)
    assert rows.values().get()["expire_date"] == before["expire_date"] + DAY
