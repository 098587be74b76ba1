"""Restoring an archive into an empty database, of the same sort or the other: this is the move too.

All rows go in by one transaction: one that is broken off leaves the database as empty as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from django.apps import apps
from django.apps.registry import Apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from inventory import photos
from inventory.backup import archive, rows
from inventory.backup.errors import ArchiveRefused
from inventory.backup.saving import applied, mark
from inventory.digest import digest
from inventory.lock import writing
from inventory.models import guard


@dataclass(frozen=True, slots=True)
class Restored:
    """What was restored and compared."""

    rows: int
    photos: int
    bad: tuple[str, ...]  # names of photos that the archive did not have either
    digest: str
    same_version: bool  # whether the digest could be compared; rows and photos always are


def restore(path: Path) -> Restored:
    """Restore an archive. Raises ArchiveRefused with all that differs; then nothing stays in it."""
    with archive.reading(path) as found:
        told = found.about["migrations"]
        _refuse_filled(apps)
        _version(told)
        for sha256, data in found.photos():
            _lay(photos.path_of(sha256), data)
        state = _state(told)
        same = told == applied() and state is apps
        try:
            with writing():
                _refuse_filled(state)  # under the lock: another may have come first
                count = _rows(found, state)
                connection.check_constraints()  # each row that another names is there
                _compare(found, state, same=same)
        except DatabaseError as error:
            raise ArchiveRefused(f"{path}: the database refused its rows: {error}") from error
    if not same:
        call_command("migrate", verbosity=0)  # what came later
    if lacking := guard.missing(connection):
        raise ArchiveRefused(f"expected every trigger of the guard, lacking: {', '.join(lacking)}")
    there, bad = found.about["photos"]["count"], tuple(found.about["photos"]["bad"])
    return Restored(count, there, bad, digest(), same)


def _lay(name: str, data: bytes) -> None:
    """Lay a photo where it belongs, in the place of a damaged one too. Raises ArchiveRefused."""
    if default_storage.exists(name) and _read(name) != data:
        default_storage.delete(name)  # its name says what bytes it should have
    if not default_storage.exists(name):
        default_storage.save(name, ContentFile(data))
    if _read(name) != data:
        raise ArchiveRefused(f"{name}: expected the bytes that were stored, got others")


def _read(name: str) -> bytes:
    with default_storage.open(name, "rb") as file:
        return bytes(file.read())


def _refuse_filled(state: Apps) -> None:
    if filled := rows.filled(state):
        raise ArchiveRefused(
            f"expected an empty database to restore into, got rows in {', '.join(filled[:5])}"
            + (f" and {len(filled) - 5} more" if len(filled) > 5 else "")
        )


def _version(told: Mapping[str, str]) -> None:
    """Bring the database to the version that the archive was made at."""
    known = MigrationExecutor(connection).loader.graph.nodes
    newer = [f"{app} {name}" for app, name in told.items() if (app, name) not in known]
    if newer:
        raise ArchiveRefused(
            f"expected an archive of this version or an earlier one, got {', '.join(newer)}"
        )
    call_command("migrate", verbosity=0) if _latest(told) else _migrate_to(told)


def _latest(told: Mapping[str, str]) -> bool:
    leaves = dict(MigrationExecutor(connection).loader.graph.leaf_nodes())
    return {app: name for app, name in leaves.items() if app in told} == dict(told)


def _migrate_to(told: Mapping[str, str]) -> None:
    if there := applied():
        if there != dict(told):
            raise ArchiveRefused(
                "expected a database without tables for an archive of an earlier version, got one "
                "with those of this version"
            )
        return
    executor = MigrationExecutor(connection)
    executor.migrate(list(told.items()))


def _state(told: Mapping[str, str]) -> Apps:
    """Return the tables as they were when the archive was made."""
    if _latest(told):
        return apps
    executor = MigrationExecutor(connection)
    state: Apps = executor.loader.project_state(list(told.items())).apps
    return state


def _rows(found: archive.Reading, state: Apps) -> int:
    models = {model._meta.label_lower: model for model in rows.tables(state)}
    if odd := sorted(models.keys() ^ found.tables.keys()):
        raise ArchiveRefused(f"expected the tables of this version, got one more or less: {odd[0]}")
    count = 0
    for name in found.tables:
        with found.lines(name) as lines:
            count += rows.enter(models[name], lines)
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models.values())):
            cursor.execute(statement)
    return count


def _compare(found: archive.Reading, state: Apps, *, same: bool) -> None:
    """Read everything again. Raises ArchiveRefused with all that differs from the archive."""
    wrong = []
    for model in rows.tables(state):
        name = model._meta.label_lower
        with found.lines(name) as lines:
            like = next(lines)
        there, due = archive.told(rows.lines(model, like)), found.tables[name]
        if there != due:
            wrong.append(f"table {name}: {there.rows} rows, {due.rows} in the archive, or others")
    if same and (now := digest()) != found.about["digest"]:
        wrong.append(f"digest: {now}, {found.about['digest']} in the archive")
    if same and mark() != found.about["mark"]:
        wrong.append(f"record mark: {mark()}, {found.about['mark']} in the archive")
    named = {*found.about["photos"]["there"], *found.about["photos"]["bad"]}
    pictures = state.get_model("inventory", "photo")._base_manager.filter(erased=False)
    lacking = sorted({*pictures.values_list("sha256", flat=True)} - named)
    wrong += [f"photo {sha256}: in the tables, not in the archive" for sha256 in lacking]
    if wrong:
        raise ArchiveRefused("\n".join(["what was restored differs:", *wrong]))
