"""What a phone installs: the manifest, the service worker, the page that stands for unkept ones."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

HOUSES = ("inventory/", "kitting/")
KEPT = (".css", ".js", ".svg", ".png")
LEFT_OUT = ("inventory/decoder/", "inventory/worker.js")
"""The decoder is kept when the camera is used first; the worker is no file of a page."""


@require_safe
@login_not_required
def manifest(request: HttpRequest) -> HttpResponse:
    """Name the site to a phone that installs it."""
    sizes = {"inventory/icon-192.png": "192x192", "inventory/icon-512.png": "512x512"}
    icons = [
        {"src": static(name), "sizes": size, "type": "image/png", "purpose": purpose}
        for name, size in sizes.items()
        for purpose in ("any", "maskable")
    ]
    icons.append({"src": static("inventory/bolt.svg"), "sizes": "any", "type": "image/svg+xml"})
    body = {
        "name": "Lastbolt",
        "short_name": "Lastbolt",
        "id": "/",
        "start_url": reverse("home"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#edebe5",  # --desk of tokens.css
        "theme_color": "#123c4a",  # --deep
        "icons": icons,
    }
    return JsonResponse(body, content_type="application/manifest+json")


@require_safe
@login_not_required
def worker(request: HttpRequest) -> HttpResponse:
    """Give the service worker with the files of this release; at the root, for every page."""
    version, files = _release()
    head = f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(files)};\n"
    answer = HttpResponse(head + _source(), content_type="text/javascript; charset=utf-8")
    answer.headers["Cache-Control"] = "no-cache"
    return answer


@require_safe
@login_not_required
def no_signal(request: HttpRequest) -> HttpResponse:
    """Stand for a page that is not kept; of nobody in particular."""
    return render(request, "inventory/no_signal.html")


def _release() -> tuple[str, list[str]]:
    """Return the version of the static files and the addresses of those that pages need."""
    collected = getattr(staticfiles_storage, "hashed_files", {})
    return _collected(tuple(sorted(collected))) if collected else _plain()


@cache
def _collected(names: tuple[str, ...]) -> tuple[str, list[str]]:
    files = [static(name) for name in names if _is_kept(name)]
    return _version([*files, _source()]), files


def _plain() -> tuple[str, list[str]]:
    found = {
        name: Path(storage.path(name)).read_bytes()
        for finder in finders.get_finders()
        for name, storage in finder.list([])
        if _is_kept(name)
    }
    names = sorted(found)
    marks = [name + hashlib.sha256(found[name]).hexdigest() for name in names]
    return _version([*marks, _source()]), [static(name) for name in names]


def _source() -> str:
    return Path(str(finders.find("inventory/worker.js"))).read_text(encoding="utf-8")


def _is_kept(name: str) -> bool:
    return name.startswith(HOUSES) and name.endswith(KEPT) and not name.startswith(LEFT_OUT)


def _version(parts: list[str]) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]
