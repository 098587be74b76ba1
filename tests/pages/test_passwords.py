"""A password is one's own to change, a manager's to give anew; every other sign-in ends with it.

What is asked of a password is OWASP ASVS 5.0, 6.2.1 to 6.2.9: length and a list of common ones, no
rule about kinds of signs, taken exactly as typed.
"""

import pytest
from django.contrib.auth import authenticate
from django.test import Client
from django.urls import reverse

from inventory.models import Amendment, Person, SentForm
from tests.people import PASSWORD, Cast, page_of

OWN = reverse("own_sign_in")
NEW = "gutter ladder seven birch"


def signed_in(name: str, password: str = PASSWORD) -> Client:
    client = Client()
    assert client.login(username=name, password=password)
    return client


def test_ones_own_password(db: None, cast: Cast) -> None:
    """Here the session goes on, everywhere else it is over; the old password opens nothing."""
    here, elsewhere = signed_in("tariq"), signed_in("tariq")
    key = here.session.session_key

    answer = here.post(OWN, {"old": PASSWORD, "new": NEW})

    assert (answer.status_code, answer["Location"]) == (302, OWN)
    assert "Your password is changed" in here.get(OWN).content.decode()
    assert here.session.session_key != key  # ASVS 7.2.4: a new one once somebody has proved anew
    assert elsewhere.get(OWN)["Location"] == f"/sign-in?next={OWN}"
    assert authenticate(username="tariq", password=PASSWORD) is None
    assert signed_in("tariq", NEW).get(OWN).status_code == 200


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("not the old one", NEW, "This is not your password."),
        (PASSWORD, PASSWORD, "This is your password already."),
        (PASSWORD, "elevensigns", "at least 12"),
        (PASSWORD, "qwerty123456", "too common"),
        (PASSWORD, "Tariq of the crew", "too similar to the name"),
        (PASSWORD, "x" * 201, "at most 200 characters, got 201"),
        (PASSWORD, "", "New password: expected some text, got nothing"),
        ("", NEW, "Password until now: expected some text, got nothing"),
        (PASSWORD, "a\0 sign nobody types", "New password: expected text without control"),
    ],
)
def test_a_password_that_is_not_taken(db: None, cast: Cast, old: str, new: str, words: str) -> None:
    """The page says why, shows neither password, and the old one goes on."""
    Person.objects.filter(username="tariq").update(name="Tariq of the crew")
    client = signed_in("tariq")
    html = client.post(OWN, {"old": old, "new": new}).content.decode().replace("&#x27;", "'")

    assert words in html
    assert [one for one in (PASSWORD, "nobody types", "elevensigns") if one in html] == []
    assert authenticate(username="tariq", password=PASSWORD) is not None


@pytest.mark.parametrize(
    "password",
    ["twelve signs", "z" * 63 + "y", "é" * 99 + "?" * 101, " bolts and blanks ", "123 ladders!"],
)
def test_a_password_is_taken_as_it_was_typed(db: None, cast: Cast, password: str) -> None:
    """Whoever chooses it: blanks at its ends, many signs, one kind of sign only."""
    tariq = signed_in("tariq").post(OWN, {"old": PASSWORD, "new": password})
    mona = signed_in("mona")
    given = {"give_password": "yes", "password": password}
    tove = mona.post(page_of("person_change", "tove"), given)
    nora = {"username": "nora", "name": "Nora", "roles": ["warehouse"], "password": password}
    added = mona.post(reverse("people"), nora)

    assert [one.status_code for one in (tariq, tove, added)] == [302] * 3
    for name in ("tariq", "tove", "nora"):
        typed = {"username": name, "password": password}
        assert Client().post(reverse("sign_in"), typed).status_code == 302


def test_a_manager_gives_a_new_first_password(db: None, cast: Cast) -> None:
    """To somebody who forgot theirs, or whose phone is lost: all their sessions are over."""
    phone, page = signed_in("tove"), page_of("person_change", "tove")
    mona = signed_in("mona")

    answer = mona.post(page, {"give_password": "yes", "password": NEW})

    assert (answer.status_code, answer["Location"]) == (302, page)
    assert "is signed out on every device" in mona.get(page).content.decode()
    assert phone.get(OWN)["Location"] == f"/sign-in?next={OWN}"
    assert phone.post("/api/devices", "{}", content_type="application/json").status_code == 403
    assert signed_in("tove", NEW).get(OWN).status_code == 200
    assert mona.get(page).status_code == 200  # her own goes on
    tove = Person.objects.get(username="tove")
    assert (tove.name, tove.roles, tove.is_active) == ("Tove", ["technician"], True)


def test_a_changed_password_is_noted_without_it(db: None, cast: Cast) -> None:
    """Who changed whose; neither the password nor its hash, nor a hash of the page's form."""
    signed_in("tariq").post(OWN, {"old": PASSWORD, "new": NEW})
    given = {
        "give_password": "yes",
        "password": NEW,
        "once": "01930000-0000-7000-8000-000000000001",
    }
    signed_in("mona").post(page_of("person_change", "tove"), given)

    noted = Amendment.objects.filter(about__startswith="person:").order_by("pk")
    was, now = {"password": "one"}, {"password": "another"}
    assert list(noted.values_list("about", "was", "now", "by__username")) == [
        ("person:tariq", was, now, "tariq"),
        ("person:tove", was, now, "mona"),
    ]
    assert not SentForm.objects.exists()


def test_a_technician_reads_it_in_the_phone_s_language(db: None, cast: Cast) -> None:
    """The page, what its form refuses, and what it says once it is done."""
    client = signed_in("tariq")
    german = {"accept-language": "de"}
    wrong = client.post(OWN, {"old": "x", "new": "short"}, headers=german).content.decode()
    client.post(OWN, {"old": PASSWORD, "new": NEW}, headers=german)
    after = client.get(OWN, headers=german).content.decode()

    for words in ("Meine Anmeldung", "Neues Passwort", "Das ist nicht das bisherige Passwort."):
        assert words in wrong
    assert "mindestens 12 Zeichen" in wrong
    assert "Das Passwort ist geändert." in after
