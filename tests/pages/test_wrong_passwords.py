"""Guessing is slow from wherever it comes, and keeps nobody else out.

OWASP ASVS 5.0, 6.1.1 and 6.3.1; empty names and names in other spellings, and addresses that a
guesser makes up, are those of django-axes#261 and encode/django-rest-framework#8574.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from unittest import mock

import pytest
from django.http import HttpResponse
from django.test import Client, RequestFactory, override_settings
from django.utils import timezone

from inventory.models import Person, WrongPassword
from inventory.password_forms import WRONG
from inventory.wrong_passwords import COUNTS_FOR, OF_ADDRESS, OF_ONE, WAIT, address_of
from tests.people import PASSWORD, Cast

HERE, THERE = "192.0.2.7", "198.51.100.9"  # RFC 5737: addresses for examples
TOO_MANY = WAIT.partition(".")[0]
SPELLINGS = ("wanda", "WANDA", " Wanda ", "\uff57anda", "wAnDa")


def tries(name: str, guess: str = "a guess", address: str = HERE) -> HttpResponse:
    typed = {"username": name, "password": guess}
    return Client(REMOTE_ADDR=address).post("/sign-in", typed)


def enters(name: str, address: str = HERE) -> bool:
    return tries(name, PASSWORD, address).status_code == 302


@contextmanager
def later(time: timedelta) -> Iterator[None]:
    then = timezone.now() + time
    with mock.patch("django.utils.timezone.now", return_value=then):
        yield


@pytest.mark.parametrize(
    ("names", "count"),
    [(SPELLINGS, 100), (("nobody", "NOBODY", " nobody", "nobody ", "noBody"), 9)],
)
def test_a_hundred_tries(db: None, cast: Cast, names: tuple[str, ...], count: int) -> None:
    """Five are looked at, however the name is spelt and whether or not anybody has it."""
    looked = []
    with mock.patch.object(Person, "check_password", lambda _, password: looked.append(password)):
        answers = [tries(names[n % 5], f"guess {n}") for n in range(count)]

    assert [one.status_code for one in answers] == [200] * OF_ONE + [429] * (count - OF_ONE)
    assert len(looked) <= OF_ONE
    for number, one in enumerate(answers):
        words = WRONG if number < OF_ONE else TOO_MANY
        assert words in one.content.decode()
    assert tries(names[0], PASSWORD).status_code == 429  # the right one tells nothing either


def test_nobody_else_is_kept_out(db: None, cast: Cast) -> None:
    """Another person from there, and the right person from elsewhere, sign in as ever."""
    for _ in range(2 * OF_ONE):
        tries("wanda")

    assert not enters("wanda")
    assert enters("mona")
    assert enters("wanda", THERE)
    assert not enters("wanda")  # that she is in elsewhere opens nothing here


def test_an_address_that_tries_many_names_waits(db: None, cast: Cast) -> None:
    """Whomever it names next; from another address that person signs in."""
    answers = [tries(f"name-{n}").status_code for n in range(OF_ADDRESS + 10)]

    assert answers == [200] * OF_ADDRESS + [429] * 10
    assert not enters("mona")
    assert enters("mona", THERE)


def test_an_empty_name_is_nobodys(db: None, cast: Cast) -> None:
    """Blanks and NULs count for nothing; a name of a megabyte counts as any other."""
    for name in ("", " ", "\0") * (OF_ONE + 1):
        assert tries(name).status_code == 200

    assert not WrongPassword.objects.exists()
    assert tries("x" * 1_000_000).status_code == 200
    assert enters("wanda")


def test_whoever_waits_gets_in(db: None, cast: Cast) -> None:
    """When the answer said; tries meanwhile make the wait no longer, words and header agree."""
    for _ in range(OF_ONE):
        tries("wanda")
    told = tries("wanda")
    wait = int(told.headers["Retry-After"])
    assert COUNTS_FOR - timedelta(seconds=30) < timedelta(seconds=wait) <= COUNTS_FOR
    assert "Try again in 15 min." in told.content.decode()

    with later(timedelta(seconds=wait - 40)):
        assert not enters("wanda")
        assert "Try again in 1 min." in tries("wanda").content.decode()
    with later(timedelta(seconds=wait)):
        assert enters("wanda")
    assert not WrongPassword.objects.exists()


def test_a_right_password_forgets_the_wrong_ones(db: None, cast: Cast) -> None:
    """Four mistyped each morning never make five; those of others stay."""
    tries("tove")
    for _ in range(3):
        for _ in range(OF_ONE - 1):
            assert tries("wanda").status_code == 200
        assert enters("wanda")

    assert WrongPassword.objects.count() == 1


def test_the_own_password_is_no_way_around(db: None, cast: Cast) -> None:
    """Whoever finds a browser signed in guesses no faster than at the door."""
    client = Client(REMOTE_ADDR=HERE)
    assert client.login(username="wanda", password=PASSWORD)
    page, new = "/my/own/sign-in", "gutter ladder seven birch"
    answers = [client.post(page, {"old": "guess", "new": new}) for _ in range(OF_ONE)]
    last = client.post(page, {"old": PASSWORD, "new": new})

    assert [one.status_code for one in answers] == [200] * OF_ONE
    assert (last.status_code, TOO_MANY in last.content.decode()) == (429, True)
    german = Client(REMOTE_ADDR=HERE, headers={"accept-language": "de"})
    told = german.post("/sign-in", {"username": "wanda", "password": "guess"}).content.decode()
    assert "Zu viele falsche Passwörter von hier. In 15 min noch einmal versuchen." in told


def test_nothing_typed_is_kept(db: None, cast: Cast) -> None:
    """Neither the name, which may be a password in the wrong field, nor where it came from."""
    tries("my secret password")
    kept = str(WrongPassword.objects.values().get())

    assert "secret" not in kept
    assert HERE not in kept


@pytest.mark.parametrize(
    ("behind", "peer", "said", "address"),
    [
        (False, HERE, "", HERE),
        (False, HERE, THERE, HERE),  # made up by whoever asks
        (True, "127.0.0.1", THERE, THERE),
        (True, "127.0.0.1", f"10.0.0.1, made up, {THERE}", THERE),
        (True, "127.0.0.1", "", "127.0.0.1"),
        (True, "127.0.0.1", f"{THERE}, nonsense", ""),
        (False, "", "", ""),  # a socket of the machine itself
        (False, f"::ffff:{HERE}", "", HERE),
        (False, "2001:db8:1:2:3:4:5:6", "", "2001:db8:1:2::/64"),  # RFC 3849
        (True, "::1", "2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
    ],
)
def test_where_somebody_comes_from(behind: bool, peer: str, said: str, address: str) -> None:
    """The proxy's own word counts where there is one, of IPv6 the network."""
    headers = {"x-forwarded-for": said} if said else {}
    with override_settings(BEHIND_PROXY=behind):
        request = RequestFactory(REMOTE_ADDR=peer).get("/sign-in", headers=headers)
        assert address_of(request) == address
