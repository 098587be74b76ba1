"""Writing an archive of the database as it is at one moment; scans go on meanwhile."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import django
from django.apps import apps
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from inventory import photos
from inventory.backup import archive, rows
from inventory.backup.errors import ArchiveRefused
from inventory.digest import digest
from inventory.models import Photo, RecordMark
from inventory.one_moment import one_moment


@dataclass(frozen=True, slots=True)
class Saved:
    """What an archive holds."""

    rows: int
    photos: int
    bad: tuple[str, ...]  # names of photos that are gone or are not what they were
    digest: str


def save(path: Path) -> Saved:
    """Write an archive. Raises ArchiveRefused; then there is none.

    Photos that are gone or damaged are named in it and in the answer: the rest is worth keeping.
    """
    _refuse_other_version()
    with archive.writing(path) as out, one_moment():
        for model in rows.tables(apps):
            out.table(model._meta.label_lower, rows.lines(model))
        there, bad = _photos(out)
        found = digest()
        out.about(
            {
                "made_at": timezone.now().isoformat(),
                "database": connection.vendor,
                "django": django.get_version(),
                "migrations": applied(),
                "digest": found,
                "mark": mark(),
                "photos": {"count": len(there), "there": there, "bad": bad},
            }
        )
    count = sum(told.rows for told in out.tables.values())
    return Saved(count, len(there), tuple(bad), found)


def _refuse_other_version() -> None:
    """Another version's tables have other columns: what was read of them could not be restored."""
    leaves = dict(MigrationLoader(connection).graph.leaf_nodes())
    due = {app: name for app, name in leaves.items() if app not in rows.LEFT_OUT}
    there = applied()
    if odd := [f"{app} {there.get(app, 'none')}" for app in due if there.get(app) != due[app]]:
        wanted = ", ".join(f"{app} {name}" for app, name in due.items())
        raise ArchiveRefused(
            f"expected a database of this version ({wanted}), got {', '.join(odd)}: "
            "make the archive with the version that it is of"
        )


def _photos(out: archive.Writing) -> tuple[list[str], list[str]]:
    """Write each photo that is what its name says; return those, and the names of the others."""
    there, bad = list[str](), list[str]()
    for photo in Photo.objects.filter(erased=False).order_by("sha256").iterator():
        data = stored(photo)
        if data is None:
            bad.append(photo.sha256)
        else:
            out.photo(photo.sha256, data)
            there.append(photo.sha256)
    return there, bad


def stored(photo: Photo) -> bytes | None:
    """Return a photo's bytes, None where they are gone or are not what was stored."""
    try:
        data = photos.bytes_of(photo)
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == photo.sha256 else None


def mark() -> dict[str, Any]:
    """Return the head of the record mark, empty before the first event."""
    return dict(RecordMark.objects.order_by("-size").values("size", "root").first() or {})


def applied() -> dict[str, str]:
    """Return app -> the name of the last migration that this database has of it."""
    loader = MigrationLoader(connection)
    done = {key for key in loader.applied_migrations if key[0] not in rows.LEFT_OUT}
    found: dict[str, str] = {}
    for app, name in sorted(done):
        node = loader.graph.node_map.get((app, name))
        later = {child.key for child in node.children} if node else set()
        if not any(key[0] == app for key in later & done):
            found[app] = name
    return found
