"""README's set-ups with https: who must have a second factor there, and whose word is heard.

A secure scheme behind a proxy: Django's documentation of SECURE_PROXY_SSL_HEADER. The addresses of
strangers are of RFC 5737.
"""

from __future__ import annotations

import re
import runpy
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings

from inventory.wrong_passwords import address_of
from kitting.security import ProxyMiddleware
from tests.people import PASSWORD, enter_people
from tests.test_docs import README, section
from tests.tree import TOP

NAME, STRANGER = "stock.example.com", "203.0.113.9"
BY_PROXY, BY_ITSELF = re.findall(
    r"((?:      export .*\n)+)",
    section(README, "https, for the camera and the hours without signal"),
)
OF_HTTPS = (
    *("ALLOWED_HOSTS", "HTTPS", "BEHIND_PROXY", "PROXIES", "SECOND_FACTOR", "CSRF_TRUSTED_ORIGINS"),
    *("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT", "SECURE_HSTS_SECONDS"),
    "SECURE_PROXY_SSL_HEADER",
)


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Callable[[str], None]]:
    """Give the site the settings that the program reads where README's lines were typed."""
    with ExitStack() as kept:

        def typed(words: str, **more: str) -> None:
            pairs = dict(pair.split("=", 1) for pair in words.replace("export", "").split())
            for name, value in {**pairs, **more}.items():
                monkeypatch.setenv(name, value.replace("/etc/lastbolt", str(tmp_path)))
            (tmp_path / "key").write_text("k" * 40)
            monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path}/none.sqlite3")
            read = runpy.run_path(str(TOP / "kitting" / "settings.py"))
            kept.enter_context(override_settings(**{name: read[name] for name in OF_HTTPS}))

        yield typed


def browser(**arrives: str) -> Client:
    return Client(enforce_csrf_checks=True, HTTP_HOST=NAME, **arrives)


def signs_in(name: str, arrives: dict[str, str], *, tls: bool) -> tuple[Client, HttpResponse]:
    """As a browser does it: the token of its form, and the address of the page as its origin."""
    client = browser(**arrives)
    page = client.get("/sign-in", secure=tls)
    assert page.status_code == 200
    (token,) = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page.content.decode())
    sent = {"username": name, "password": PASSWORD, "csrfmiddlewaretoken": token}
    origin = {"origin": f"https://{NAME}"}
    return client, client.post("/sign-in", sent, headers=origin, secure=tls)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "arrives"),
    [
        (BY_PROXY, {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_PROTO": "https"}),
        (BY_PROXY, {"REMOTE_ADDR": "", "HTTP_X_FORWARDED_PROTO": "https"}),  # through a socket
        (BY_ITSELF, {"REMOTE_ADDR": STRANGER}),
    ],
)
def test_managers_must_have_a_second_factor(typed, words: str, arrives: dict[str, str]) -> None:
    """Nothing but its set-up opens for them; others walk in. Both stay on https, cookies too."""
    typed(words)
    enter_people()
    tls = words == BY_ITSELF  # the server's own; else it ends at the proxy
    client, gone = signs_in("mona", arrives, tls=tls)
    for path in ("/week/", "/people/", "/my/own/sign-in"):
        assert client.get(path, secure=tls)["Location"] == "/my/own/second-factor"
    assert client.get("/api/jobs", secure=tls).status_code == 403
    technician, _ = signs_in("tove", arrives, tls=tls)

    assert technician.get("/my/", secure=tls).status_code == 200
    for cookie in client.cookies.values():
        assert (cookie["secure"], cookie["samesite"]) == (True, "Lax"), cookie.key
    assert {"csrftoken", "sessionid"} <= client.cookies.keys()
    assert gone["Strict-Transport-Security"] == "max-age=31536000"


@pytest.mark.parametrize(
    ("words", "arrives"),
    [
        (BY_PROXY, {"REMOTE_ADDR": "127.0.0.1"}),
        (BY_PROXY, {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_PROTO": "http"}),
        (BY_PROXY, {"REMOTE_ADDR": STRANGER, "HTTP_X_FORWARDED_PROTO": "https"}),  # made up
        (BY_PROXY, {"REMOTE_ADDR": f"::ffff:{STRANGER}", "HTTP_X_FORWARDED_PROTO": "https"}),
        (BY_PROXY, {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_SSL": "on"}),  # another's word
        (BY_ITSELF, {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_PROTO": "https"}),
        (BY_ITSELF, {"REMOTE_ADDR": STRANGER, "HTTP_X_FORWARDED_PROTO": "https"}),
    ],
)
def test_plain_requests_are_sent_on(typed, words: str, arrives: dict[str, str]) -> None:
    """Whoever comes without https, or only says otherwise, gets no page and no cookie."""
    typed(words)
    client = browser(**arrives)
    answer = client.get("/sign-in?next=/my/")

    assert (answer.status_code, answer["Location"]) == (301, f"https://{NAME}/sign-in?next=/my/")
    assert not client.cookies
    assert "Strict-Transport-Security" not in answer  # RFC 6797, 7.2: never by plain http


@pytest.mark.parametrize(
    ("proxies", "peer", "address"),
    [
        ("", "127.0.0.1", "198.51.100.7"),
        ("", STRANGER, STRANGER),  # as many wrong passwords as from one address
        ("", f"::ffff:{STRANGER}", STRANGER),
        ("192.0.2.0/24", "192.0.2.8", "198.51.100.7"),
        ("192.0.2.0/24", "127.0.0.1", "127.0.0.1"),
        ("192.0.2.8,2001:db8::/32", "2001:db8::8", "198.51.100.7"),
    ],
)
def test_whose_word_of_the_address_counts(typed, proxies: str, peer: str, address: str) -> None:
    """The proxy's, which may stand on another machine; nobody gets round the wait by a header."""
    typed(BY_PROXY, LASTBOLT_PROXIES=proxies)
    said = {"x-forwarded-for": "10.9.9.9, 198.51.100.7"}
    found = list[str]()

    def heard(request: HttpRequest) -> HttpResponse:
        found.append(address_of(request))
        return HttpResponse()

    ProxyMiddleware(heard)(RequestFactory(REMOTE_ADDR=peer).get("/sign-in", headers=said))
    assert found == [address]
