"""The security log: OWASP ASVS 5.0, 16.2.1 to 16.4.1: one line each, no secret, none forged."""

import json
import logging

import pytest
from django.test import Client

from inventory.models import Person
from tests.people import PASSWORD, Cast, page_of
from tests.test_cast import event

OWN = "/my/own/sign-in"
NEW = "gutter ladder seven birch"
FORGED = "mona\r\n2026-11-27 INFO lastbolt.security signed in\u2028\u202e\x1b[2J"


def signs_in(name: str, guess: str = PASSWORD) -> Client:
    client = Client(REMOTE_ADDR="192.0.2.7")
    client.post("/sign-in", {"username": name, "password": guess})
    return client


def lines(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [one.getMessage() for one in caplog.records if one.name == "lastbolt.security"]


@pytest.fixture
def written(db: None, cast: Cast, caplog: pytest.LogCaptureFixture) -> pytest.LogCaptureFixture:
    caplog.set_level(logging.INFO)
    return caplog


def test_each_has_its_line(cast: Cast, written: pytest.LogCaptureFixture) -> None:
    """In their order: what happened, who, and from where."""
    signs_in("tariq", "a guess")
    tariq, mona = signs_in("tariq"), signs_in("mona")
    tariq.get("/stock/")
    tariq.get("/stock/CT-MODULE/")
    tariq.get("/api/jobs/none")
    tariq.post("/api/devices", "{", content_type="application/json")
    tariq.post("/api/events", **event(cast.works["other_technician"].kit.subject))
    tariq.put("/my/")
    tariq.post(OWN, {"old": "a guess", "new": NEW})
    tariq.post(OWN, {"old": PASSWORD, "new": NEW})
    mona.post(page_of("person_change", "tove"), {"give_password": "yes", "password": NEW})
    tariq.post("/sign-out")
    tariq.get("/stock/")

    found = [one.partition(" {") for one in lines(written)]
    facts = [json.loads("{" + rest) for _, _, rest in found]
    assert {one.pop("from") for one in facts} == {"192.0.2.7"}
    refusals = [(f["status"], f["path"]) for w, f in zip(found, facts, strict=True) if "path" in f]
    assert refusals == [
        *((403, "/stock/"), (404, "/stock/CT-MODULE/"), (404, "/api/jobs/none")),
        *((400, "/api/devices"), (405, "/my/")),
    ]
    assert [(f["kind"], f["count"]) for f in facts if "kind" in f] == [("not_allowed", 1)]
    assert [(what[0], fact["person"]) for what, fact in zip(found, facts, strict=True)] == [
        ("wrong sign-in", "tariq"),
        ("signed in", "tariq"),
        ("signed in", "mona"),
        *[("refused", "tariq")] * 4,
        ("scans refused", "tariq"),
        ("refused", "tariq"),
        ("wrong password until now", "tariq"),
        ("password changed", "tariq"),
        ("password given", "mona"),
        ("signed out", "tariq"),
    ]


def test_no_name_and_no_address_begins_a_line(written: pytest.LogCaptureFixture) -> None:
    """Line ends, signs that turn text around and screen commands stand escaped."""
    Person.objects.create_user(FORGED, PASSWORD, roles=["technician"])
    client = signs_in(FORGED)
    client.get("/stock/x%0d%0aforged%E2%80%A8/")
    signs_in(FORGED, "a guess")

    found = lines(written)
    assert len(found) == 3
    assert [one for one in found if not (one.isascii() and one.isprintable())] == []
    assert all(r"\r\n" in one for one in found)


def test_no_secret_is_written(written: pytest.LogCaptureFixture) -> None:
    """No password, old, new or in the wrong field, and no key of a session."""
    client = signs_in("tariq")
    key = client.session.session_key or ""
    signs_in(PASSWORD, "tariq")
    client.post(OWN, {"old": "a guess", "new": NEW})
    client.post(OWN, {"old": PASSWORD, "new": NEW})

    found = "\n".join(one.getMessage() for one in written.records)
    assert len(lines(written)) == 4
    assert [one for one in (PASSWORD, NEW, "a guess", key) if one in found] == []
    assert "nobody's name" in found
