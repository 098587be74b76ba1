"""A code beside the password: OWASP ASVS 5.0, 6.3.3, 6.5.1 and 6.5.5."""

import base64
import io
import logging
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from unittest import mock
from urllib.parse import parse_qs, urlparse

import pytest
from django.core.management import CommandError, call_command
from django.http import HttpResponse
from django.test import Client, override_settings
from django.utils import timezone
from PIL import Image
from pyzbar import pyzbar

from inventory.codes import one_time
from inventory.models import Amendment, Person, RecoveryCode, SecondFactor, SignIn
from inventory.second_factor_forms import NOT_IT
from inventory.wrong_passwords import OF_ONE
from tests.people import PASSWORD, Cast, page_of
from tests.test_cast import ROWS, address

OWN, DOOR, CODE = "/my/own/second-factor", "/sign-in", "/sign-in/code"
KEY = re.compile(r'<b class="code" translate="no">([A-Z2-7 ]+)</b>')
DRAWN = re.compile(r'name="drawn" value="([^"]+)"')
SQUARE = re.compile(r'src="data:image/png;base64,([^"]+)"')
RECOVERY = re.compile(r'<li class="code">([a-z2-7-]+)</li>')
manager_needs_one = override_settings(SECOND_FACTOR="managers")


class Clock:
    """What time it is; a code is of its step, so none of a test's is taken for another's."""

    def __init__(self) -> None:
        self.now = timezone.now()

    def on(self, seconds: int = one_time.STEP) -> None:
        self.now += timedelta(seconds=seconds)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Iterator[Clock]:
    found = Clock()
    with mock.patch("django.utils.timezone.now", found):
        yield found


def words(answer: HttpResponse) -> str:
    return answer.content.decode()


def password_typed(name: str = "mona", where: str = DOOR) -> tuple[Client, HttpResponse]:
    client = Client()
    return client, client.post(where, {"username": name, "password": PASSWORD})


class App:
    """What a person's phone shows, read from the key on the page."""

    def __init__(self, client: Client, clock: Clock) -> None:
        self.page, self.clock = words(client.get(OWN)), clock
        (key,) = KEY.findall(self.page)
        self.secret = base64.b32decode(key.replace(" ", ""))
        (self.drawn,) = DRAWN.findall(self.page)

    def shows(self, off: int = 0) -> str:
        step = int(self.clock.now.timestamp()) // one_time.STEP
        return one_time.password(self.secret, step + off)

    def filled_in(self, **other: str) -> dict[str, str]:
        return {"drawn": self.drawn, "password": PASSWORD, "code": self.shows(), **other}


def set_up(name: str, clock: Clock) -> tuple[Client, App, list[str]]:
    """A browser of a person who has one from now on, the app, the recovery codes."""
    client, _ = password_typed(name)
    app = App(client, clock)
    codes = RECOVERY.findall(words(client.post(OWN, app.filled_in())))
    clock.on()
    return client, app, codes


def enters(name: str, code: str) -> bool:
    """Whether password and code let in."""
    client, _ = password_typed(name)
    client.post(CODE, {"code": code})
    return client.get("/my/own/sign-in").status_code == 200


def test_the_square_carries_the_key(db: None, cast: Cast, clock: Clock) -> None:
    """Read by zbar, which did not draw it: issuer, name and the key that stands beneath."""
    client, _ = password_typed()
    app = App(client, clock)
    (drawn,) = SQUARE.findall(app.page)
    (read,) = pyzbar.decode(Image.open(io.BytesIO(base64.b64decode(drawn))))

    said = urlparse(read.data.decode())
    assert (said.scheme, said.netloc, said.path) == ("otpauth", "totp", "/Lastbolt%3Amona")
    (secret,) = parse_qs(said.query)["secret"]
    assert (base64.b32decode(secret), len(app.secret)) == (app.secret, 20)  # RFC 4226: 160 bits


def test_from_then_on_the_password_alone_opens_nothing(
    db: None, cast: Cast, clock: Clock, caplog: pytest.LogCaptureFixture
) -> None:
    """Halfway in nobody is signed in; a code opens, once, and the wanted page comes."""
    caplog.set_level(logging.INFO)
    elsewhere, _ = password_typed()
    own, app, _ = set_up("mona", clock)
    assert own.get("/people/").status_code == 200
    assert elsewhere.get("/people/").status_code == 302  # began without it

    client, answer = password_typed(where=f"{DOOR}?next=/people/")
    assert answer["Location"] == f"{CODE}?next=%2Fpeople%2F"
    assert client.get("/people/").status_code == 302
    assert client.get("/api/jobs").status_code == 403
    assert client.get(CODE)["Cache-Control"] == "no-store"
    key = client.session.session_key
    wrong = client.post(CODE, {"code": "000000" if app.shows() != "000000" else "111111"})
    assert NOT_IT in words(wrong).replace("&#x27;", "'")
    right = client.post(f"{CODE}?next=/people/", {"code": f" {app.shows()[:3]} {app.shows()[3:]}"})
    assert right["Location"] == "/people/"
    assert client.session.session_key != key
    assert client.get("/people/").status_code == 200

    assert not enters("mona", app.shows())  # was used
    assert not enters("mona", app.shows(-1))  # is before it
    assert enters("mona", app.shows(1))
    said = [one.getMessage().partition(" {")[0] for one in caplog.records]
    for what in ("second factor set up", "wrong code", "signed in"):
        assert what in said
    assert app.shows() not in caplog.text


def test_a_recovery_code_opens_once(db: None, cast: Cast, clock: Clock) -> None:
    """Only hashes of them are kept; new ones end those until now."""
    client, app, codes = set_up("tove", clock)
    assert len(set(codes)) == 10
    kept = str(list(RecoveryCode.objects.values()) + list(SecondFactor.objects.values()))
    assert not any(code in kept or code.replace("-", "") in kept.lower() for code in codes)
    assert base64.b32encode(app.secret).decode() not in kept
    assert app.secret.hex() not in kept

    assert enters("tove", codes[0].upper().replace("-", " "))
    assert not enters("tove", codes[0])
    others = RECOVERY.findall(words(client.post(OWN, {"code": app.shows()})))
    assert not enters("tove", codes[1])
    assert enters("tove", others[1])


def test_guessing_waits(db: None, cast: Cast, clock: Clock) -> None:
    """Five in a quarter of an hour, from wherever; the right password does not begin anew."""
    _, app, _ = set_up("tove", clock)
    said = []
    for n in range(OF_ONE + 1):
        client = Client(REMOTE_ADDR=f"192.0.2.{n}")
        client.post(DOOR, {"username": "tove", "password": PASSWORD})
        said.append(client.post(CODE, {"code": "no code"}).status_code)

    assert said == [200] * OF_ONE + [429]
    assert not enters("tove", app.shows())
    clock.on(16 * 60)
    assert enters("tove", app.shows())


@pytest.mark.parametrize(
    "other",
    [{"password": "a guess"}, {"code": "no"}, {"drawn": "made up"}],
    ids=lambda other: next(iter(other)),
)
def test_it_is_set_up_with_all_three(
    db: None, cast: Cast, clock: Clock, other: dict[str, str]
) -> None:
    """Whoever finds a phone signed in does not shut its person out."""
    client, _ = password_typed("tove")
    told = words(client.post(OWN, App(client, clock).filled_in(**other)))

    assert 'class="errors"' in told
    assert not SecondFactor.objects.exists()


def test_halfway_in_lapses(db: None, cast: Cast, clock: Clock) -> None:
    """After ten minutes, or with another password, name and password are asked for anew."""
    _, app, _ = set_up("tove", clock)
    late, _ = password_typed("tove")
    clock.on(601)
    assert late.post(CODE, {"code": app.shows()})["Location"] == DOOR
    old, _ = password_typed("tove")
    person = Person.objects.get(username="tove")
    person.set_password("gutter ladder seven birch")
    person.save()
    assert old.post(CODE, {"code": app.shows()})["Location"] == DOOR


@manager_needs_one
def test_a_manager_without_reaches_only_the_set_up(db: None, cast: Cast, clock: Clock) -> None:
    """Every address of the site; then all opens. Others, and strangers' pages, are as ever."""
    client, _ = password_typed("mona")
    open_to_all = {row["route"] for row in ROWS if row["stranger"] not in ("302", "403")}
    open_to_all |= {"sign_in_code"}  # leads whose password was not asked to the door
    reached = []
    for row in ROWS:
        if row["method"] != "GET" or row["route"] in open_to_all:
            continue
        where = address(cast, row["route"], "manager", row["object"])
        answer = client.get(where)
        if answer.status_code != 403 and answer.get("Location") != OWN:
            reached.append(row["route"])
    assert reached == ["own_second_factor"]
    assert client.post("/api/events", "", content_type="application/x-ndjson").status_code == 403

    client.post(OWN, App(client, clock).filled_in())
    assert client.get("/people/").status_code == 200
    tove, _ = password_typed("tove")
    assert tove.get("/my/").status_code == 200


@manager_needs_one
def test_who_becomes_a_manager_shows_the_code(db: None, cast: Cast, clock: Clock) -> None:
    """One of whom none was asked at the door signs in anew; the own is not taken off."""
    wanda, app, _ = set_up("wanda", clock)
    Person.objects.filter(username="wanda").update(roles=["manager"])
    assert wanda.get("/people/").status_code == 200  # showed it as it was set up
    wanda.post(OWN, {"code": app.shows(), "off": "yes"})
    assert SecondFactor.objects.filter(person__username="wanda").exists()
    session = wanda.session
    del session["second_factor"]
    session.save()
    assert wanda.get("/people/")["Location"] == DOOR
    assert "_auth_user_id" not in wanda.session


def test_a_manager_takes_a_lost_one_off(db: None, cast: Cast, clock: Clock) -> None:
    """Of somebody else, with a reason; noted, and every sign-in of theirs is over."""
    tove, _, _ = set_up("tove", clock)
    mona, _ = password_typed("mona")
    page = page_of("person_change", "tove")
    mona.post(page, {"take_off": "yes", "reason": ""})
    assert SecondFactor.objects.exists()
    assert mona.post(page, {"take_off": "yes", "reason": "phone in the river"})["Location"] == page

    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    assert tove.get("/my/").status_code == 302
    assert not SignIn.objects.filter(person__username="tove").exists()
    noted = Amendment.objects.filter(about="person:tove").latest("pk")
    assert noted.by == cast.people["manager"]
    assert noted.now == {"second factor since": "", "reason": "phone in the river"}
    _, answer = password_typed("tove")
    assert answer["Location"] == "/"


def test_the_own_is_taken_off_with_a_code(db: None, cast: Cast, clock: Clock) -> None:
    """A phone found open is no way to do so; nobody takes the own off as another's."""
    tove, app, _ = set_up("tove", clock)
    tove.post(OWN, {"code": "no", "off": "yes"})
    assert SecondFactor.objects.exists()
    tove.post(OWN, {"code": app.shows(), "off": "yes"})
    assert not SecondFactor.objects.exists()
    assert tove.get("/my/").status_code == 302

    mona, _, _ = set_up("mona", clock)
    mona.post(page_of("person_change", "mona"), {"take_off": "yes", "reason": "mine"})
    assert SecondFactor.objects.exists()


def test_the_server_s_owner_takes_one_off(
    db: None, cast: Cast, clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where the last manager lost phone and codes; noted as a command's."""
    mona, _, _ = set_up("mona", clock)
    call_command("second_factor_off", "mona")

    assert capsys.readouterr().out == "mona signs in with the password alone now\n"
    assert mona.get("/people/").status_code == 302
    noted = Amendment.objects.filter(about="person:mona").latest("pk")
    assert (noted.by, noted.now["reason"]) == (None, "taken off on the server")
    for name in ("mona", "nobody"):
        with pytest.raises(CommandError, match=name):
            call_command("second_factor_off", name)
