"""What a phone installs, and how much travels until it is ready."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from inventory.views import installing
from tests.kitting import yard

MOST = 170_000  # bytes of a first load, compressed, the camera's decoder apart


def files(client: Client) -> list[str]:
    """Addresses of the files that the service worker keeps."""
    text = client.get("/worker.js").content.decode()
    return list(json.loads(re.findall(r"^const FILES = (.*);$", text, re.MULTILINE)[0]))


def test_the_manifest_names_icons_that_are_there(client: Client) -> None:
    """Its size is the one it says; the installed site opens at the home page."""
    answer = client.get("/app.webmanifest")
    body = answer.json()

    assert answer.headers["Content-Type"] == "application/manifest+json"
    assert (body["start_url"], body["scope"]) == ("/", "/")
    for icon in body["icons"]:
        found = finders.find(icon["src"].removeprefix("/static/"))
        assert found, icon
        if icon["type"] == "image/png":
            data = Path(str(found)).read_bytes()
            width, height = (int.from_bytes(data[at : at + 4], "big") for at in (16, 20))
            assert icon["sizes"] == f"{width}x{height}"


def test_the_worker_is_asked_for_anew_and_keeps_every_module(client: Client) -> None:
    """A browser that kept an old one would see no new version; the decoder is kept later."""
    answer = client.get("/worker.js")
    kept = files(client)

    assert answer.headers["Cache-Control"] == "no-cache"
    assert "/static/inventory/index.js" in kept
    assert "/static/inventory/scan.css" in kept
    assert not [name for name in kept if "decoder" in name or "worker.js" in name]
    for name in kept:
        text = Path(str(finders.find(name.removeprefix("/static/")))).read_bytes()
        for near in re.findall(rb'^import .*"\./([^"]+)";$', text, re.MULTILINE):
            assert f"{name.rpartition('/')[0]}/{near.decode()}" in kept


def test_another_file_makes_another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    """One changed byte of what pages need, and phones offer the new version."""
    first, names = installing._release()
    monkeypatch.setattr(installing, "_is_kept", lambda name: name.endswith("index.js"))
    second, fewer = installing._release()

    assert first != second
    assert set(fewer) < set(names)


@pytest.mark.django_db
def test_a_first_load_is_small(client: Client) -> None:
    """All files, the worker, both first pages and the tables, as gzip presses them."""
    made = yard.build()
    kit = made.kit()
    made.box("S1")
    made.wanda.scan("pick", "BOX-S1", subject=kit.subject)
    client.force_login(made.tariq.person)
    bodies = [
        client.get(address).content
        for address in (
            "/my/",
            f"/my/{kit.job.code}/unbox",
            "/worker.js",
            "/no-signal",
            "/api/my/codes",
        )
    ]
    names = [name.removeprefix("/static/") for name in files(client)]
    bodies += [Path(str(finders.find(name))).read_bytes() for name in names]
    total = sum(len(gzip.compress(body, 6)) for body in bodies)

    assert len(names) > 20
    assert total <= MOST, f"{total:,} bytes"
    print(f"first load {total:,} bytes")
