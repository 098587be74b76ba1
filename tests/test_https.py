"""The set-up with https that README describes, followed to the letter on this machine."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import tables
from tests.test_docs import README, section
from tests.tree import TOP

NAME = "stock.example.com"
WITHOUT_A_PROXY = re.compile(
    r"- Or gunicorn.*?\n\n"
    r"      export (?P<settings>.*)\n"
    r'      GUNICORN_CMD_ARGS="(?P<arguments>.*)" \\\n'
    r"          make serve ADDRESS=(?P<address>\S+)\n"
)
needs_openssl = pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here")


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.fixture
def port(tmp_path: Path) -> Iterator[int]:
    """The port of README's server, with a certificate of our own in place of the firm's."""
    found = WITHOUT_A_PROXY.search(
        section(README, "https, for the camera and the hours without signal")
    )
    assert found
    here = found[0].replace("/etc/lastbolt", str(tmp_path))
    set_up = WITHOUT_A_PROXY.search(here)
    assert set_up
    (tmp_path / "key").write_text("k" * 40)
    make = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"]
    files = ["-keyout", tmp_path / "site.key", "-out", tmp_path / "site.pem"]
    named = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}"]
    subprocess.run([*make, *files, *named], check=True, capture_output=True)
    tables.lay(tmp_path / "db.sqlite3")
    settings = dict(one.split("=", 1) for one in set_up["settings"].split())
    settings |= {"GUNICORN_CMD_ARGS": set_up["arguments"] + " --log-level error"}
    settings |= {"DATABASE_URL": f"sqlite:///{tmp_path}/db.sqlite3"}
    number = free_port()
    address = set_up["address"].replace("0.0.0.0:8443", f"127.0.0.1:{number}")
    told = subprocess.run(
        ["make", "-n", "serve", f"ADDRESS={address}"],
        cwd=TOP,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    (serve,) = re.findall(r"^\.venv/bin/gunicorn .*(?:\\\n.*)*", told, re.M)
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("LASTBOLT", "DJANGO"))}
    process = subprocess.Popen(
        serve.replace("\\\n", " ").split(), cwd=TOP, env=environment | settings
    )
    try:
        yield number
    finally:
        process.terminate()
        process.wait(30)


def asked(port: int, trusted: Path, path: str) -> http.client.HTTPResponse:
    """What a phone that trusts the certificate gets; waits until the server listens."""
    context = ssl.create_default_context(cafile=str(trusted))
    for _ in range(300):
        try:
            plain = socket.create_connection(("127.0.0.1", port), timeout=60)
            break
        except ConnectionRefusedError:
            time.sleep(0.1)
    line = context.wrap_socket(plain, server_hostname=NAME)
    line.sendall(f"GET {path} HTTP/1.1\r\nHost: {NAME}\r\nConnection: close\r\n\r\n".encode())
    with line, http.client.HTTPResponse(line) as answer:
        answer.begin()
        answer.read()
    return answer


@needs_openssl
@pytest.mark.sqlite_only
def test_the_set_up_without_a_proxy_serves_https(port: int, tmp_path: Path) -> None:
    """The site answers by TLS under the firm's name, tells browsers to stay there, and is silent
    without."""
    answer = asked(port, tmp_path / "site.pem", "/my/")

    assert (answer.status, answer.headers["Location"]) == (302, "/sign-in?next=/my/")
    assert "max-age" in answer.headers["Strict-Transport-Security"]
    plain = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    plain.request("GET", "/sign-in")
    with pytest.raises((http.client.HTTPException, OSError)):
        plain.getresponse()
