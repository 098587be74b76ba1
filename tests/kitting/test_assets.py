"""Static files are named by their content once they are collected, and plainly before."""

import re
from pathlib import Path

from django.core.management import call_command
from django.templatetags.static import static
from django.test import Client, override_settings


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
