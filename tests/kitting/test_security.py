"""Every answer carries the content policy and its companions."""

import logging

import pytest
from django.core import checks
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings

from kitting.security import HeadersMiddleware

STRICT = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:;"
    " connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self';"
    " base-uri 'none'; frame-ancestors 'none'"
)


class SignedIn:
    is_authenticated = True


@pytest.mark.parametrize("address", ["/no-such-page", "/csp-report"])
def test_headers_are_on_every_answer(client: Client, address: str) -> None:
    """Also on pages that do not exist and on refusals; nothing inline may run."""
    answer = client.get(address)

    assert answer.headers["Content-Security-Policy"] == STRICT
    assert answer.headers["Permissions-Policy"] == "camera=(self), microphone=(), geolocation=()"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    with override_settings(PHOTO_PLACE=True):
        assert client.get(address).headers["Permissions-Policy"].endswith("geolocation=(self)")
    assert answer.headers["X-Frame-Options"] == "DENY"


def test_webassembly_runs_in_the_worker_of_the_camera_alone(rf: RequestFactory) -> None:
    """Its decoder comes as WebAssembly; files of the decoder may compile it, and nothing else."""
    middleware = HeadersMiddleware(lambda request: HttpResponse("script"))

    def policy(address: str) -> str:
        return middleware(rf.get(address)).headers["Content-Security-Policy"]

    wider = STRICT.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")
    assert policy("/static/inventory/decoder/decoding.0123456789ab.js") == wider
    for address in ("/", "/kits/J1-1/pick", "/static/inventory/live-camera.js", "/decoder/"):
        assert policy(address) == STRICT


def test_pages_of_a_signed_in_person_are_not_kept(rf: RequestFactory) -> None:
    """On a shared bench the next person must not find them by the back button."""

    def page(request: HttpRequest) -> HttpResponse:
        request.user = SignedIn()  # type: ignore[assignment]
        return HttpResponse("stock")

    answer = HeadersMiddleware(page)(rf.get("/"))

    assert answer.headers["Cache-Control"] == "no-store"


def test_what_a_stranger_sees_may_be_kept(rf: RequestFactory) -> None:
    """Static files pass before anybody is asked for and keep their own long life."""
    answer = HeadersMiddleware(lambda request: HttpResponse("style"))(rf.get("/static/a.css"))

    assert "Cache-Control" not in answer.headers


def test_reports_are_taken_only_when_asked_for(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    """Without the knob nobody can fill the log; with it a report is one line of it."""
    assert (
        client.post("/csp-report", b"{}", content_type="application/csp-report").status_code == 404
    )
    with override_settings(CSP_REPORTS=True), caplog.at_level(logging.ERROR):
        fresh = Client()
        answer = fresh.post("/csp-report", b'{"x": 1}', content_type="application/csp-report")

        assert answer.status_code == 204
        assert (
            fresh.get("/no-such-page")
            .headers["Content-Security-Policy"]
            .endswith("; report-uri /csp-report")
        )
    assert [
        record.getMessage() for record in caplog.records if "blocked" in record.getMessage()
    ] == ['blocked by content policy: {"x": 1}']


@pytest.mark.parametrize(
    ("origins", "https", "told"),
    [
        ([], False, False),  # on this machine alone
        (["http://stock.example.com"], False, False),  # plain http is what is meant
        (["http://a.example.com", "https://stock.example.com"], False, True),
        (["https://stock.example.com"], True, False),
    ],
)
def test_cookies_on_plain_http_beside_https_are_warned_of(
    origins: list[str], https: bool, told: bool
) -> None:
    """The check names the address and both settings; it stops nothing."""
    with override_settings(CSRF_TRUSTED_ORIGINS=origins, HTTPS=https):
        found = [one for one in checks.run_checks() if one.id == "kitting.W001"]

    assert len(found) == told
    if told:
        assert found[0].msg == (
            "LASTBOLT_ORIGINS names https://stock.example.com, and LASTBOLT_HTTPS is not yes: a "
            "sign-in could be read on plain http."
        )
        assert found[0].hint == (
            "Set LASTBOLT_HTTPS=yes; where a proxy speaks TLS, LASTBOLT_BEHIND_PROXY=yes too."
        )
        assert not found[0].is_serious()
