"""A person's browser: cookies, forms and the calls of our own scripts, over real HTTP."""

from __future__ import annotations

import html
import http.client
import json
import re
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import urlencode, urlsplit

PATIENCE = 60  # seconds for one answer, the server's start included
OPTION = re.compile(r'<option value="([^"]*)"[^>]*>\s*([^<]*?)\s*</option>')
LABEL = re.compile(r"<label[^>]*>\s*(<input[^>]*>)\s*([^<]+?)\s*<")
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')


class Unexpected(RuntimeError):
    """The server answered otherwise than the walk needs; the message names both."""


@dataclass(frozen=True, slots=True)
class Page:
    """One answer."""

    status: int
    location: str  # where a redirect leads, "" for none
    body: bytes

    @property
    def text(self) -> str:
        """The page as text."""
        return self.body.decode("utf-8", errors="replace")

    @property
    def words(self) -> str:
        """What people read of it."""
        return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", self.text)))

    def json(self) -> Any:
        """The answer of the API."""
        return json.loads(self.body)

    def option(self, words: str) -> str:
        """Return the value of the choice that reads so, in a list or a box to tick."""
        for value, shown in OPTION.findall(self.text):
            if words in html.unescape(shown):
                return html.unescape(value)
        for box, shown in LABEL.findall(self.text):
            found = re.search(r'value="([^"]*)"', box)
            if found and words in html.unescape(shown):
                return html.unescape(found[1])
        raise Unexpected(f"expected a choice {words!r} on the page, got none")


@dataclass(slots=True)
class Visitor:
    """Somebody in front of a browser at 127.0.0.1:port."""

    port: int
    username: str
    cookies: dict[str, str] = field(default_factory=dict)
    requests: int = 0
    _line: http.client.HTTPConnection | None = None

    def sign_in(self, password: str) -> None:
        """Sign in on the page for it."""
        page = self.post("/sign-in", {"username": self.username, "password": password})
        if page.status != http.client.FOUND:
            raise Unexpected(f"{self.username}: expected to be signed in, got {page.status}")

    def get(self, path: str) -> Page:
        """Open a page."""
        return self._ask("GET", path, b"", {})

    def open(self, path: str) -> Page:
        """Open a page that has to be there."""
        page = self.get(path)
        if page.status != http.client.OK:
            raise Unexpected(f"{path}: expected 200 for {self.username}, got {page.status}")
        return page

    def post(self, path: str, fields: Mapping[str, str | Sequence[str]]) -> Page:
        """Send a form as the page of this address gives it, with its token."""
        token = TOKEN.search(self.open(path).text)
        if token is None:
            raise Unexpected(f"{path}: expected a form with a token, got none")
        data = urlencode({"csrfmiddlewaretoken": token[1], **fields}, doseq=True).encode()
        return self._ask("POST", path, data, {"Content-Type": "application/x-www-form-urlencoded"})

    def call(self, path: str, body: bytes, kind: str) -> Any:
        """Call the API as our scripts do; return what it answered. Raises Unexpected."""
        headers = {"Content-Type": kind, "X-CSRFToken": self.cookies.get("csrftoken", "")}
        page = self._ask("POST", path, body, headers)
        if page.status != http.client.OK:
            raise Unexpected(f"{path}: expected 200, got {page.status}: {page.text[:300]}")
        return page.json()

    def call_json(self, path: str, data: Mapping[str, Any]) -> Any:
        """Call the API with JSON."""
        return self.call(path, json.dumps(data).encode(), "application/json")

    def send_events(self, lines: Sequence[str]) -> list[dict[str, Any]]:
        """Hand event lines to the intake; one result per line, in order."""
        body = "\n".join(lines).encode()
        answer = self.call("/api/events", body, "application/x-ndjson")
        results: list[dict[str, Any]] = answer["results"]
        return results

    def send_file(self, path: str, data: bytes, **fields: str) -> Any:
        """Upload a JPEG in the field `photo`."""
        edge = uuid.uuid5(uuid.NAMESPACE_OID, str(len(data))).hex
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
            for name, value in fields.items()
        ]
        parts.append(
            f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="photo.jpg"\r\n'
            "Content-Type: image/jpeg\r\n\r\n"
        )
        body = "".join(parts).encode() + data + f"\r\n--{edge}--\r\n".encode()
        return self.call(path, body, f"multipart/form-data; boundary={edge}")

    def _ask(self, method: str, path: str, body: bytes, headers: Mapping[str, str]) -> Page:
        if self._line is None:
            self._line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        self.requests += 1
        try:
            self._line.request(method, path, body or None, {"Cookie": cookies, **headers})
            answer = self._line.getresponse()
        except (http.client.RemoteDisconnected, BrokenPipeError, ConnectionResetError):
            # A server may end an idle connection; events carry ids, so asking again is no harm.
            self._line.close()
            self._line.request(method, path, body or None, {"Cookie": cookies, **headers})
            answer = self._line.getresponse()
        content = answer.read()
        for header in answer.headers.get_all("Set-Cookie") or []:
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(header).items()}
        return Page(answer.status, urlsplit(answer.headers.get("Location") or "").path, content)
