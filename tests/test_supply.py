"""What the program is made of is listed, and asked about; who cannot be asked stops nothing.

OWASP ASVS 5.0, 15.1.1, 15.1.2 and 15.2.1.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from importlib.metadata import version
from pathlib import Path
from threading import Thread

import pytest

from tests import supply
from tests.tree import TOP

FLOORS = {"pillow": (13, 0, 0)}  # below it a photo overruns its JPEG decoder: CVE-2026-112403


def numbers(text: str) -> tuple[int, ...]:
    return tuple(map(int, re.findall(r"\d+", text)))


class Service(BaseHTTPRequestHandler):
    """What uv and npm ask, in the shapes of OSV's API and of npm's advisories."""

    bad = ""  # the library that something is known of

    def do_POST(self) -> None:
        asked = self.rfile.read(int(self.headers["Content-Length"]))
        queries = json.loads(asked)["queries"] if "querybatch" in self.path else []
        names = [query["package"]["name"] for query in queries]
        known = [{"vulns": [{"id": "X-1"}]} if name == self.bad else {} for name in names]
        self.say({"results": known} if names else {})

    def do_GET(self) -> None:
        self.say(
            {"id": "X-1", "modified": "2026-11-01T00:00:00Z", "summary": "ill", "affected": []}
        )

    def say(self, told: object) -> None:
        body = json.dumps(told).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *words: object) -> None:
        """Not on the tests' output."""


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address of a service on this machine, whom npm asks too."""
    with HTTPServer(("127.0.0.1", 0), Service) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://127.0.0.1:{server.server_port}"
        monkeypatch.setenv("npm_config_registry", address)
        yield address
        server.shutdown()


def test_the_bill_names_what_the_locks_hold(tmp_path: Path) -> None:
    """Each line of a lock is a component; of Python's, the same as in uv's own CycloneDX export."""
    supply.lay(tmp_path)
    exported = json.loads(supply.uv(tmp_path, "export", "--format", "cyclonedx1.5").stdout)
    found = supply.bill()["components"]
    purls = [one["purl"] for one in found]
    locks = [(TOP / lock).read_text(encoding="utf-8") for lock in supply.PYTHON]
    lines = {line for lock in locks for line in re.findall(r"^[^#\s].*==.*", lock, re.M)}

    assert len(purls) == len(set(purls))
    python = {purl for purl in purls if purl.startswith("pkg:pypi/")}
    assert python == {one["purl"] for one in exported["components"]}
    assert len(python) == len({line.split()[0] for line in lines}) > 80
    assert {"zxing-wasm", "axe-core"} <= {one["name"] for one in found}
    needed = {one["name"] for one in found if one["scope"] == "required"}
    assert {"django", "pillow", "zxing-wasm"} <= needed
    assert needed.isdisjoint({"pytest", "uv", "axe-core"})


@pytest.mark.parametrize("name", FLOORS)
def test_nothing_below_what_is_known_to_be_mended(name: str) -> None:
    """In the lock, in what is asked for, and as it is installed here."""
    locked = [one.version for one in supply.parts() if one.name == name]
    asked = re.findall(rf"^{name}>=(\S+)", (TOP / "requirements.in").read_text(), re.M)

    assert len(locked) == len(asked) == 1
    assert min(map(numbers, [*locked, *asked, version(name)])) >= FLOORS[name]


def test_what_is_known_fails_the_audit(
    service: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is named with its version; where nothing is known nothing fails."""
    assert supply.main(["audit", "--service-url", service]) == 0
    assert "the Python libraries: nothing known" in capsys.readouterr().out
    monkeypatch.setattr(Service, "bad", "reportlab")

    assert supply.main(["audit", "--service-url", service]) == 1
    told = capsys.readouterr().out
    assert re.search(r"the Python libraries: 1 known\n  reportlab [\d.]+: X-1 ill", told)


def test_without_a_network_the_audit_says_so(
    service: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In words, part by part, and fails nothing."""
    nobody = "http://127.0.0.1:9"
    monkeypatch.setenv("npm_config_registry", nobody)

    assert supply.main(["audit", "--service-url", nobody]) == 0
    told = capsys.readouterr().out.splitlines()
    assert [one.partition(": ")[2].partition(":")[0] for one in told] == [
        "the Python libraries",
        *(f"npm's in {folder}" for folder in supply.NPM),
    ]
    assert all("nobody could be asked" in one for one in told)
