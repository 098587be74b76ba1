"""The live camera where its decoder is installed, and the page where node was missing."""

import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

from tests.tree import TOP

LOCKS = ("inventory/camera", "tests/browser/axe")  # folders of what npm brings
FETCHED = ("reader.js", "zxing_reader.wasm")  # by `make setup`


def hands(monkeypatch: pytest.MonkeyPatch, *, installed: bool) -> str:
    """The part of a scan page below the verdict."""

    def find(name: str) -> str | None:
        return None if name.endswith(FETCHED) and not installed else name

    monkeypatch.setattr(finders, "find", find)
    return " ".join(render_to_string("parts/hands.html").split())


def test_a_page_offers_the_camera_where_it_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the addresses of worker, reader and wasm, all on our own site; the photo stays."""
    html = hands(monkeypatch, installed=True)

    files = [f"/static/inventory/decoder/{name}" for name in ("decoding.js", *FETCHED)]
    assert re.findall(r'(?:worker|reader|wasm)="([^"]*)"', html) == files
    assert html.count("<photo-scan>") == 1
    assert "not installed" not in html


def test_without_node_a_page_says_so_and_offers_the_photo(monkeypatch: pytest.MonkeyPatch) -> None:
    """No camera button that would lead nowhere; a photo is read by the server as ever."""
    html = hands(monkeypatch, installed=False)

    assert "live camera is not installed here: photograph the code." in html
    assert "<live-camera" not in html
    assert html.count("<photo-scan>") == 1


@pytest.mark.parametrize("folder", LOCKS)
def test_the_lock_holds_hashes_and_no_address(folder: str) -> None:
    """npm takes each package by its SHA-512 from wherever the user's npm fetches."""
    here = TOP / folder
    text = (here / "package-lock.json").read_text(encoding="utf-8")
    packages = json.loads(text)["packages"]
    wanted = json.loads((here / "package.json").read_text(encoding="utf-8"))["dependencies"]

    assert "://" not in text
    assert packages.pop("")["dependencies"] == wanted
    assert all(one["integrity"].startswith("sha512-") for one in packages.values())
    assert {name: packages[f"node_modules/{name}"]["version"] for name in wanted} == wanted
    assert "omit-lockfile-registry-resolved=true" in (here / ".npmrc").read_text(encoding="utf-8")


def test_what_is_fetched_stays_out_of_the_tree() -> None:
    """Others' code is installed, not copied into the project."""
    ignored = (TOP / ".gitignore").read_text(encoding="utf-8").splitlines()
    decoder = Path("inventory/static/inventory/decoder")

    assert {"node_modules", *((decoder / name).as_posix() for name in FETCHED)} <= set(ignored)
