"""The schema of the API is a valid OpenAPI document, and the API keeps to it under hostile input.

Outside: the OpenAPI 3.1 JSON Schema that drf-spectacular carries, and schemathesis, which makes
requests from the schema alone and judges each answer by it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import schemathesis
from django.conf import settings as site
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.validation import validate_schema
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode, checks

from tests import people
from tests.counts import counts
from tests.people import Cast

ADDRESSES = {
    "/api/events": {"post"},
    "/api/devices": {"post"},
    "/api/photos": {"post"},
    "/api/photos/{sha256}": {"post"},
    "/api/signed-in": {"get"},
    "/api/notes": {"post"},
    "/api/read": {"post"},
    "/api/requests": {"get"},
    "/api/jobs": {"get"},
    "/api/my/codes": {"get"},
    "/api/kits/{uid}": {"get"},
}
TOKEN = "a" * 32
KEPT = [
    checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_schema_conformance,
]


@pytest.fixture
def cast(db: None) -> Cast:
    return people.build()


@contextmanager
def one_connection() -> Iterator[None]:
    """The real handler must not close the connection that the test's transaction lives in.

    After the last use of a test client: that one lets connections be closed again.
    """
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def document(cast: Cast) -> dict[str, Any]:
    """The schema as a signed-in person gets it."""
    answer = cast.clients["manager"].get("/api/schema", {"format": "json"})
    assert answer.status_code == 200
    return json.loads(answer.content)


KNOWN: list[Any] = []


def schema_of(cast: Cast) -> Any:
    """The requests that the schema allows. It is the same whoever asks: read once for all tests."""
    # Imported here: it looks for the folder of static files, which the tests choose.
    from kitting.wsgi import application

    if not KNOWN:
        KNOWN.append(schemathesis.openapi.from_dict(document(cast)))
        KNOWN[0].app = application
    return KNOWN[0]


def test_the_document_is_valid_and_names_every_address(cast: Cast) -> None:
    """OpenAPI 3.1 as its own JSON Schema has it; each address with its methods, no other."""
    found = document(cast)

    validate_schema(found)
    assert found["openapi"] == "3.1.0"
    assert {name: set(methods) for name, methods in found["paths"].items()} == ADDRESSES


def test_each_refusal_is_documented_as_a_problem(cast: Cast) -> None:
    """Every operation says how it refuses a stranger, and its errors have one shape."""
    for name, methods in document(cast)["paths"].items():
        for operation in methods.values():
            refusals = {s: r for s, r in operation["responses"].items() if s >= "400"}

            assert "403" in refusals, name
            for answer in refusals.values():
                (content,) = answer["content"].values()
                assert content["schema"] == {"$ref": "#/components/schemas/Problem"}, name


@schemathesis.serializer("application/x-ndjson")
def as_lines(context: Any, value: Any) -> bytes:
    """A batch of event lines is text, one line each."""
    return value if isinstance(value, bytes) else str(value).encode(errors="replace")


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("name", sorted(ADDRESSES))
def test_no_request_breaks_the_api(cast: Cast, name: str, mode: GenerationMode) -> None:
    """Requests as the schema allows, and such as it forbids: documented answers only, no fault."""
    session = cast.clients["manager"].cookies[site.SESSION_COOKIE_NAME].value
    (method,) = ADDRESSES[name]
    operation = schema_of(cast)[name][method.upper()]
    asked = []

    @settings(
        max_examples=counts(15, 300),
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case: schemathesis.Case) -> None:
        answer = case.call(
            cookies={site.SESSION_COOKIE_NAME: session, site.CSRF_COOKIE_NAME: TOKEN},
            headers={"X-CSRFToken": TOKEN},
        )
        asked.append(answer.status_code)
        case.validate_response(answer, checks=KEPT)

    with one_connection():
        ask()

    assert asked
