"""Whatever breaks is told as a number and no more, and leaves nothing half written.

OWASP ASVS 5.0, 16.5.1 to 16.5.3: a generic answer, no trace of the inside, and no way around.
"""

import logging
import re
from typing import Any

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.test import Client
from django.utils.module_loading import import_string

from inventory import api, intake
from inventory.views import stock
from kitting import api as upper_api
from kitting import packing
from kitting.views import my
from tests.people import Cast
from tests.test_cast import ONCE, as_json, event
from tests.untouched import state

INSIDE = "no such column: inventory_person.password"
NUMBER = re.compile(r"\b[0-9A-F]{8}\b")
HOUSE = {"name": "Fig House", "address": "1 Fig Lane", "time_zone": "UTC"}


def break_(*_: object, **__: object) -> Any:
    raise RuntimeError(INSIDE)


def told(answer: HttpResponse, caplog: pytest.LogCaptureFixture) -> None:
    """500, with the number under which the log has the trace; of the inside nothing."""
    words = answer.content.decode()
    (record,) = (one for one in caplog.records if one.levelno >= logging.ERROR)
    (number,) = set(NUMBER.findall(words))

    assert answer.status_code == 500
    assert number in record.getMessage()
    assert record.exc_info is not None
    assert INSIDE in str(record.exc_info[1])
    assert [
        one for one in (INSIDE, "Traceback", "RuntimeError", "inventory/") if one in words
    ] == []


SPOTS: list[tuple[object, str, str, str, dict[str, Any]]] = [
    (stock, "stock_list", "get", "/stock/", {}),
    (packing.Site.objects, "create", "post", "/sites/", {"data": HOUSE}),  # its place was entered
    (upper_api, "jobs_of", "get", "/api/jobs", {}),
    (api.Device.objects, "get_or_create", "post", "/api/devices", as_json({"label": "bench"})),
    (intake._Book, "close", "post", "/api/events", {}),  # once an event was written
]


@pytest.mark.parametrize("spot", SPOTS, ids=[spot[3] for spot in SPOTS])
def test_a_view_breaks(
    db: None,
    cast: Cast,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    spot: tuple[object, str, str, str, dict[str, Any]],
) -> None:
    """A page, a form that has entered half, the API: each says so in its own form."""
    where, name, method, address, sent = spot
    sent = sent or event(cast.works["technician"].kit.subject)
    client = Client(raise_request_exception=False)
    client.force_login(cast.people["manager"])
    before = state()
    monkeypatch.setattr(where, name, break_)

    answer = client.get(address) if method == "get" else client.post(address, **sent)

    told(answer, caplog)
    page = not address.startswith("/api/")
    kind = "text/html; charset=utf-8" if page else "application/problem+json"
    assert answer.headers["Content-Type"] == kind
    assert answer.headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    assert state() == before


@ONCE
@pytest.mark.parametrize("name", settings.MIDDLEWARE)
@pytest.mark.parametrize("address", ["/stock/", "/api/jobs"])
def test_what_stands_before_the_views_breaks(
    db: None,
    cast: Cast,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    name: str,
    address: str,
) -> None:
    """Nothing is shown by a door that fails, whichever it is."""
    monkeypatch.setattr(import_string(name), "__call__", break_)
    client = Client(raise_request_exception=False)
    client.cookies.load(cast.clients["manager"].cookies.output(header="", sep=";"))

    told(client.get(address), caplog)


def test_it_is_told_in_the_phone_s_language(
    db: None, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever fits reads it as the other pages of the phone."""
    monkeypatch.setattr(my, "render", break_)
    client = Client(raise_request_exception=False, headers={"accept-language": "de"})
    client.force_login(cast.people["technician"])

    assert "Diese Nummer angeben:" in client.get("/my/").content.decode()
