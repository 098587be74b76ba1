"""Where somebody is signed in is seen and ended: OWASP ASVS 5.0, 7.4.5 and 7.5.2."""

import re
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as Old
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.utils import timezone

from inventory.backup.rows import tables
from inventory.models import Amendment, Device, Person, SignIn
from tests.firm import Phone
from tests.people import PASSWORD, Cast, page_of

OWN = "/my/own/sign-in"
PHONE = "Mozilla/5.0 (Linux; Android 14) Gecko/130 Mobi"
REF = re.compile(r'name="sign_out_at" value="(\w+)"')


def signs_in(name: str, agent: str = "Mozilla/5.0") -> Client:
    client = Client(headers={"user-agent": agent})
    typed = {"username": name, "password": PASSWORD}
    assert client.post("/sign-in", typed).status_code == 302
    return client


def registers(client: Client, label: str) -> Device:
    answer = client.post("/api/devices", {"label": label}, content_type="application/json")
    return Device.objects.get(uid=answer.json()["device"])


@pytest.fixture
def tove(db: None, cast: Cast) -> Person:
    person = cast.people["other_technician"]
    SignIn.objects.filter(person=person).delete()  # the cast's own
    return person


def test_a_lost_phone_is_signed_out_from_elsewhere(tove: Person) -> None:
    """One sees each browser by what it is, since when and its latest scan; the one ended is out."""
    phone, desk = signs_in("tove", PHONE), signs_in("tove")
    device = registers(phone, "Site phone 3")
    result = Phone(tove, device).scan("missing", "CT-BOLT6", quantity=1, subject="kit:none")
    assert result.verdict == "refused"  # nothing of a scan that was not taken is shown
    html = desk.get(OWN).content.decode()
    refs = REF.findall(html)

    assert len(refs) == 1  # the page's own device offers none: Sign out is beside it
    assert "Phone, Site phone 3" in html
    assert "this device" in html
    assert phone.session.session_key not in html

    answer = desk.post(OWN, {"sign_out_at": refs[0]})
    assert answer["Location"] == OWN
    assert "Signed out there." in desk.get(OWN).content.decode()
    assert phone.get(OWN)["Location"] == f"/sign-in?next={OWN}"
    assert phone.get("/api/signed-in").status_code == 403
    desk.post(OWN, {"sign_out_at": refs[0]})
    assert "over already" in desk.get(OWN).content.decode()


def test_a_manager_signs_a_phone_out(tove: Person) -> None:
    """Of somebody who cannot any more; noted with who did it, and nobody else is touched."""
    phone, mona = signs_in("tove", PHONE), signs_in("mona")
    (ref,) = REF.findall(mona.get(page_of("person_change", "tove")).content.decode())

    mona.post(page_of("person_change", "tove"), {"sign_out_at": ref})

    assert phone.get(OWN).status_code == 302
    noted = Amendment.objects.filter(about="person:tove").latest("pk")
    assert (noted.by and noted.by.username, list(noted.was)) == ("mona", ["signed in since"])
    assert "Nowhere." in mona.get(page_of("person_change", "tove")).content.decode()
    assert mona.get(OWN).status_code == 200


def test_nobody_ends_a_sign_in_of_another(tove: Person) -> None:
    """A reference seen on somebody's page opens nothing on one's own."""
    phone, mona = signs_in("tove", PHONE), signs_in("mona")
    (ref,) = REF.findall(mona.get(page_of("person_change", "tove")).content.decode())

    signs_in("tariq").post(OWN, {"sign_out_at": ref})

    assert phone.get(OWN).status_code == 200


def test_reading_writes_nothing(tove: Person) -> None:
    """No row is written by reading pages, nor by naming the same device again."""
    phone = signs_in("tove", PHONE)
    device = registers(phone, "Site phone 3")
    kept = SignIn.objects.filter(person=tove).values().get()
    again = {"device": str(device.uid)}

    phone.get(OWN)
    phone.post("/api/devices", again, content_type="application/json")

    assert kept["device_id"] == device.pk
    assert SignIn.objects.filter(person=tove).values().get() == kept


def test_signing_out_empties_the_browser_s_cache(tove: Person) -> None:
    """And not its storage, where what was not sent stands: ASVS 14.3.1 and 14.3.2."""
    gone = signs_in("tove").post("/sign-out")

    assert gone["Clear-Site-Data"] == '"cache"'
    assert gone["Cache-Control"] == "no-store"


def test_a_new_password_keeps_since_when(tove: Person) -> None:
    """The key is another then; since when, where and on which device stay."""
    phone = signs_in("tove", PHONE)
    device = registers(phone, "Site phone 3")
    before = SignIn.objects.get(person=tove)

    phone.post(OWN, {"old": PASSWORD, "new": "gutter ladder seven birch"})

    after = SignIn.objects.get(person=tove)
    assert after.pk != before.pk
    assert (after.since, after.handheld, after.device) == (before.since, True, device)


def test_whoever_was_signed_in_before_stays_so(tove: Person) -> None:
    """The migration moves sessions that hold, and leaves those that are over or nobody's."""
    for key, data, days in (("held", tove.pk, 1), ("over", tove.pk, -1), ("gone", 999_999, 1)):
        Session.objects.create(
            session_key=key,
            session_data=Old().encode({SESSION_KEY: str(data)}),
            expire_date=timezone.now() + timedelta(days=days),
        )

    import_module("inventory.migrations.0023_sign_ins").move(apps, connection.schema_editor())

    assert SignIn.objects.get(person=tove).session_key == "held"
    assert not Session.objects.exists()


def test_no_archive_holds_a_sign_in() -> None:
    """Its key would open the door; wrong passwords would stand in the way of restoring."""
    kept = {model._meta.label for model in tables(apps)}

    assert "inventory.Person" in kept
    assert {"inventory.SignIn", "inventory.WrongPassword"} & kept == set()


def test_a_session_is_new_at_the_door_and_over_at_the_end(tove: Person) -> None:
    """One that was planted before opens nothing after, and a copy goes when its person goes.

    OWASP ASVS 5.0, 7.2.4 and 7.4.1.
    """
    client, copy = Client(), Client()
    planted = client.session
    planted["planted"] = True
    planted.save()
    client.cookies["sessionid"] = planted.session_key
    client.post("/sign-in", {"username": "tove", "password": PASSWORD})
    assert client.get("/my/").status_code == 200

    copy.cookies["sessionid"] = planted.session_key
    assert copy.get("/my/").status_code == 302
    copy.cookies["sessionid"] = client.cookies["sessionid"].value
    assert copy.get("/my/").status_code == 200
    client.post("/sign-out")
    assert copy.get("/my/").status_code == 302
    assert copy.post("/api/devices", "{}", content_type="application/json").status_code == 403
