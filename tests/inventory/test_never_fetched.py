"""A web address in a code is parsed and never fetched, by whatever way it comes in.

Every door to the network in Python is shut and counted while addresses go through them all. Also
the decoding of pictures, which else runs in a process of its own.
"""

import io
import json
import socket
import urllib.request
from http import client as http_client
from typing import Any

import numpy as np
import pytest
import zxingcpp
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory.codes.cleaning import VIAS
from inventory.codes.reading import read
from inventory.pictures import looking
from inventory.scanning import resolve
from tests import firm

LINK = "example.com/01/09521234000020/21/A1"
ADDRESSES = [
    f"https://{LINK}",
    f"http://{LINK}",
    f"HTTPS://{LINK.upper()}",
    f"https://somebody:secret@{LINK}",
    "https://example.com:8443/01/09521234000020?linkType=all#top",
    "https://127.0.0.1/01/09521234000020",
    "https://[::1]/01/09521234000020",
    "http://localhost/01/09521234000020",
    "https://xn--bcher-kva.example/01/09521234000020",
    "https://bücher.example/01/09521234000020",
    f"https%3A%2F%2F{LINK}",
    f"//{LINK}",
    f"www.{LINK}",
    "https://x.example/A1B2C3D4",
    "httpsÖ--example.com-01-09521234000020",  # a UK scanner on a German keyboard
    f"]Q1https://{LINK}",
    f"]d2https://{LINK}",
    f"ftp://{LINK}",
    "file:///etc/hostname",
    "data:text/plain,09521234000020",
    f"javascript:fetch('https://{LINK}')",
    "mailto:mona@example.com",
    "WIFI:S:example;T:WPA;P:secret;;",
    "MEBKM:URL:https\\://example.com;;",
]


@pytest.fixture
def asked(monkeypatch) -> list[str]:
    """What anybody asked of the network; asking fails."""
    calls: list[str] = []

    def shut(name: str) -> Any:
        def ask(*args: object, **_: object) -> None:
            calls.append(f"{name} {args[1:] or args}")
            raise OSError("the network is shut")

        return ask

    for owner, names in (
        (socket, ("create_connection", "getaddrinfo", "gethostbyname")),
        (socket.socket, ("connect", "connect_ex", "sendto")),
        (urllib.request, ("urlopen",)),
        (urllib.request.OpenerDirector, ("open",)),
        (http_client.HTTPConnection, ("connect", "request")),
    ):
        for name in names:
            monkeypatch.setattr(owner, name, shut(name))
    return calls


def picture(address: str) -> bytes:
    """A QR code of it as a PNG."""
    symbol = zxingcpp.create_barcode(address, zxingcpp.BarcodeFormat.QRCode)
    file = io.BytesIO()
    Image.fromarray(np.array(zxingcpp.write_barcode_to_image(symbol, scale=4))).save(file, "PNG")
    return file.getvalue()


def test_the_doors_are_shut(asked) -> None:
    """What is counted below would be seen."""
    with pytest.raises(OSError, match="shut"):
        urllib.request.urlopen("http://example.com/")
    with pytest.raises(OSError, match="shut"):
        socket.create_connection(("127.0.0.1", 9))
    with pytest.raises(OSError, match="shut"):
        http_client.HTTPConnection("example.com").request("GET", "/")

    assert len(asked) == 3


def test_no_spelling_of_an_address_is_fetched(db: None, asked, tmp_path, capsys) -> None:
    """Text by every way, the scan of a person, the API, a picture through it and by the command."""
    made = firm.build()
    browser = Client()
    browser.force_login(made.wanda.person)
    sent = []
    for number, address in enumerate(ADDRESSES):
        for via in ("", *VIAS):
            read(address, via)
        resolve(address, "symbol", "QR")
        shot = picture(address)
        seen = [
            hit
            for head, _ in looking.look({"shelf": True, "keep": True}, shot)
            for hit in head.get("hits", [])
        ]
        assert address in {hit[0] for hit in seen}
        sent.append(made.wanda.line("receive", address, target="DOCK"))
        page = browser.get(reverse("trace"), {"code": address})
        assert page.status_code < 500
        if number % 8 == 0:  # the way through the decoding process is the same for all
            upload = SimpleUploadedFile("code.png", shot, "image/png")
            answer = browser.post(reverse("api_read"), {"photo": upload}).json()
            assert address in {code["text"] for code in answer["codes"]}
            path = tmp_path / "code.png"
            path.write_bytes(shot)
            call_command("read", "--photo", str(path), "--json")
            assert address in {c["text"] for c in json.loads(capsys.readouterr().out)["codes"]}
    answer = browser.post(reverse("api_events"), "\n".join(sent), "application/x-ndjson")

    assert len(answer.json()["results"]) == len(ADDRESSES)
    assert asked == []
