"""Bodies too large, too deep or not what they say are refused before they cost anything."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inventory import api
from inventory.models import Device, Event, Note, Photo
from tests import people

LINES = "application/x-ndjson"


@pytest.fixture
def browser(db: None) -> Client:
    """Somebody of the warehouse, signed in."""
    client = Client()
    client.force_login(people.enter_people()["warehouse"])
    return client


def refusal(response: Any, status: int) -> dict[str, str]:
    """The problem document of an answer with this status."""
    assert response.status_code == status, response.content[:300]
    assert response["Content-Type"] == "application/problem+json"
    told: dict[str, str] = response.json()
    assert set(told) == {"type", "title", "detail", "where"}
    return told


def test_a_batch_may_have_so_many_lines_and_bytes(browser: Client) -> None:
    """One line or byte more is refused whole, and the answer names the limit."""
    line = b'{"v":1}\n'
    many = browser.post("/api/events", line * (api.MOST_LINES + 1), content_type=LINES)
    large = browser.post("/api/events", b" " * (api.MOST_BYTES + 1), content_type=LINES)

    assert str(api.MOST_LINES) in refusal(many, 422)["detail"]
    assert f"{api.MOST_BYTES:,}" in refusal(large, 400)["detail"]
    assert Event.objects.count() == 0


@pytest.mark.parametrize("address", ["/api/devices", "/api/notes"])
def test_json_beyond_the_limit_is_refused(browser: Client, address: str) -> None:
    """A body larger than a form may be is not read to its end."""
    body = json.dumps({"text": "a" * settings.DATA_UPLOAD_MAX_MEMORY_SIZE})
    refusal(browser.post(address, body, content_type="application/json"), 400)

    assert (Device.objects.count(), Note.objects.count()) == (0, 0)


@pytest.mark.parametrize("body", ["[" * 100_000, '{"text":' * 50_000, "{", "[]", '"text"', "NaN"])
def test_json_that_is_no_plain_object_is_refused(browser: Client, body: str) -> None:
    """Deeply nested, torn and foreign JSON gets words, not a fault of the server."""
    response = browser.post("/api/notes", body, content_type="application/json")

    assert response.status_code in (400, 422), response.content[:300]
    assert Note.objects.count() == 0


def test_a_photo_beyond_the_limit_is_refused(browser: Client) -> None:
    """By its bytes, before anything looks at them."""
    data = b"\xff\xd8" + bytes(settings.PHOTO_MAX_BYTES)
    for address in ("/api/photos", "/api/read"):
        photo = SimpleUploadedFile("photo.jpg", data, "image/jpeg")
        response = browser.post(address, {"photo": photo})

        told = json.dumps(response.json())
        assert f"{settings.PHOTO_MAX_BYTES:,}" in told, address
        assert response.status_code in (200, 422)
    assert Photo.objects.count() == 0


@pytest.mark.parametrize(
    ("address", "content_type"),
    [
        ("/api/events", "application/json"),
        ("/api/devices", "text/plain"),
        ("/api/notes", LINES),
        ("/api/photos", "application/json"),
        (f"/api/photos/{'0' * 64}?size=9", "application/json"),
        ("/api/read", "application/xml"),
    ],
)
def test_another_content_type_is_refused(browser: Client, address: str, content_type: str) -> None:
    """415: what comes is not guessed at."""
    refusal(browser.post(address, b"{}", content_type=content_type), 415)


def test_a_request_that_asks_for_another_form_of_answer_is_told(browser: Client) -> None:
    """Only JSON is spoken here."""
    response = browser.get("/api/jobs", headers={"accept": "text/html"})

    assert response.status_code in (200, 406)
    assert response["Content-Type"].startswith("application/")
