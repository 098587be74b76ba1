"""Static files are named by their content once they are collected, and plainly before."""

import re
from pathlib import Path

from django.core.management import call_command
from django.templatetags.static import static
from django.test import Client, override_settings

from tests.tree import TOP


def test_before_the_first_collection_names_are_plain() -> None:
    """The test server and a fresh checkout find files in the app folders."""
    assert static("kitting/queue.js") == "/static/kitting/queue.js"


def test_a_module_imports_its_neighbour_by_its_hashed_name(tmp_path: Path) -> None:
    """Else a browser would keep an old neighbour for ever beside a new module."""
    written, collected = tmp_path / "written", tmp_path / "collected"
    written.mkdir()
    (written / "near.js").write_text("export const near = 1;\n")
    (written / "page.js").write_text('import { near } from "./near.js";\nnear;\n')

    with override_settings(
        STATICFILES_DIRS=[written],
        STATIC_ROOT=collected,
        WHITENOISE_SKIP_COMPRESS_EXTENSIONS=[
            "css",
            "js",
            "svg",
            "wasm",
        ],  # seconds for nothing here
    ):
        call_command("collectstatic", interactive=False, verbosity=0)
        page = static("page.js")
        answer = Client().get(page)
        text = b"".join(answer.streaming_content).decode()

    near = re.search(r'from "\./(near\.[0-9a-f]{12}\.js)"', text)
    assert re.fullmatch(r"/static/page\.[0-9a-f]{12}\.js", page)
    assert near
    assert (collected / near[1]).exists()
    assert "immutable" in answer.headers["Cache-Control"]
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]


INSIDE = [
    *("manage.py", ".git/HEAD", ".git/config", ".ci/run", "requirements.txt", "db.sqlite3"),
    *("kitting/settings.py", "templates/base.html", "media/", "photos/", "fixtures/", ".venv/"),
]


def test_nothing_but_collected_files_is_served(tmp_path: Path) -> None:
    """No folder lists what is in it, and no way of writing an address leads out of it.

    OWASP ASVS 5.0, 13.4.1 to 13.4.3.
    """
    collected = tmp_path / "collected"
    (collected / "inventory").mkdir(parents=True)
    (collected / "inventory" / "page.css").write_text("a { color: red }")
    (tmp_path / "db.sqlite3").write_text("a secret")
    out = ("../", "%2e%2e/", "..%2f", "....//", "%252e%252e/", "..%5c", "/", "%00/")
    up = TOP.relative_to("/").as_posix()
    with override_settings(STATIC_ROOT=collected):
        client = Client(raise_request_exception=True)
        assert b"".join(client.get("/static/inventory/page.css").streaming_content)
        asked = ["", "inventory", "inventory/", *INSIDE, *(f"{one}db.sqlite3" for one in out)]
        asked += [f"{one * 9}{up}/{name}" for one in out for name in INSIDE[:3]]
        found = {f"/static/{one}" for one in asked} | {f"/{one}" for one in asked if one}
        served = {one: client.get(one).status_code for one in found}

    assert {one for one, status in served.items() if status not in (302, 400, 404)} == set()
    assert {one for one, status in served.items() if status == 302 and "static" in one} == set()
