"""The restore drill: what an archive holds comes back whole, or the archive is refused."""

from __future__ import annotations

import hashlib
import json
import os
import random
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from inventory import photos
from inventory.backup import archive, restoring, rows
from inventory.digest import digest
from inventory.models import Item, Photo, guard
from tests import firm, tables
from tests.inventory import filling
from tests.laws.processes import environment, own_database
from tests.people import picture
from tests.tree import TOP

EARLIER = {"inventory": "0008_let_through_limits", "kitting": "0006_changes_by_hand"}


def command(name: str, *arguments: str | Path) -> str:
    out = StringIO()
    call_command(name, *map(str, arguments), stdout=out)
    return out.getvalue()


def refusal(file: Path) -> str:
    with pytest.raises(CommandError) as error:
        command("restore", file)
    return str(error.value)


@pytest.fixture(scope="module")
def kept(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Path, str]]:
    """An archive of a firm that is gone since, with its digest; its photo stays in the store."""
    file = tmp_path_factory.mktemp("kept") / "day.zip"
    with django_db_blocker.unblock(), transaction.atomic():
        shop = firm.build()
        filling.fill(shop)
        data = picture(3)
        name = hashlib.sha256(data).hexdigest()
        Photo.objects.create(sha256=name, size=len(data), person=shop.wanda.person)
        put(name, data)
        command("backup", file)
        found = digest()
        transaction.set_rollback(True)
    yield file, found
    default_storage.delete(photos.path_of(name))


def put(name: str, data: bytes) -> None:
    """Lay bytes where the photo of that name belongs."""
    path = Path(default_storage.path(photos.path_of(name)))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def rewritten(
    kept: Path, to: Path, change: Callable[[dict[str, Any], dict[str, list[Any]]], None]
) -> Path:
    """Another archive whose hash is right, of what `change` makes of about and tables."""
    with archive.reading(kept) as found:
        tables = {}
        for name in found.tables:
            with found.lines(name) as lines:
                tables[name] = [json.loads(line) for line in lines]
        about, pictures = found.about, list(found.photos())
    change(about, tables)
    with archive.writing(to) as out:
        for name, told in tables.items():
            out.table(name, (rows._line(row) for row in told))
        for name, data in pictures:
            out.photo(name, data)
        out.about({name: said for name, said in about.items() if name != "tables"})
    return to


@pytest.mark.django_db
def test_an_archive_comes_back_whole(kept: tuple[Path, str]) -> None:
    """Digest, photo and guard; another one is refused then, and so is a table of this day."""
    file, before = kept
    empty = digest()
    with zipfile.ZipFile(file) as packed:
        broken, about = packed.testzip(), json.loads(packed.read(archive.ABOUT))
    name = about["photos"]["there"][0]
    default_storage.delete(photos.path_of(name))
    told = json.loads(command("restore", file, "--json"))

    assert broken is None  # any ZIP reader opens it
    assert (before != empty, told["digest"], digest()) == (True, before, before)
    assert (told["photos"], told["bad"], told["same_version"]) == (1, [], True)
    assert hashlib.sha256(photos.bytes_of(Photo.objects.get())).hexdigest() == name
    assert guard.missing(connection) == []
    Item.objects.create(code="NEXT", name="Next", tracking="count")  # ids go on after the highest
    assert "expected an empty database to restore into, got rows in inventory." in refusal(file)


@pytest.mark.django_db
def test_each_spoilt_byte_is_refused(kept: tuple[Path, str], tmp_path: Path) -> None:
    """One bit flipped anywhere, cut off, longer, or no archive at all: refused, nothing stays."""
    data, spoilt = kept[0].read_bytes(), tmp_path / "spoilt.zip"
    dice = random.Random(11)
    places = [0, 4, len(data) - 1, len(data) - 64, len(data) - 65]
    cases = [
        data[:at] + bytes([data[at] ^ (1 << dice.randrange(8))]) + data[at + 1 :]
        for at in [*places, *(dice.randrange(len(data)) for _ in range(60))]
    ]
    for case in [*cases, data[:-1], data[: len(data) // 2], data + b"0", b"PK\x03\x04"]:
        spoilt.write_bytes(case)
        said = refusal(spoilt)
        assert "expected an archive as it was written, got one cut off or damaged" in said

    spoilt.write_bytes(b"")
    assert "expected a file that can be read, got an empty one" in refusal(spoilt)
    assert "expected a file that can be read" in refusal(tmp_path / "none.zip")
    assert rows.filled(restoring.apps) == []


def longer(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    heading, *told = tables["inventory.item"]
    told[1][heading.index("name")] = "x" * 121


def nul(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    heading, *told = tables["inventory.item"]
    told[0][heading.index("name")] = "a\0b"


def newer(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    about["migrations"]["inventory"] = "0999_not_written_yet"


def orphan(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    heading, *told = tables["inventory.lot"]
    told[0][heading.index("item_id")] = 4711


def lacking(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    del tables["inventory.kept"][1:]


def untrue(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    about["mark"]["root"] = "ab" * 32


def wordless(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    heading, *told = tables["inventory.item"]
    told[0][heading.index("mass_g")] = "heavy"


def unseen(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    about["photos"] |= {"there": []}


@pytest.mark.django_db(transaction=True)
def test_what_does_not_fit_leaves_the_database_empty(
    kept: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Too long, NUL, newer, a row without its item, rows that lack, another mark, a word for a
    number, a photo that lacks; broken off."""
    file, before = kept
    words = {
        longer: "table inventory.item, row 2, column name: expected 120 characters, got 121",
        nul: "table inventory.item, row 1, column name: expected text without NUL",
        newer: "or an earlier one, got inventory 0999_not_written_yet",
        orphan: "the database refused its rows",
        lacking: "what was restored differs:\ndigest: ",
        untrue: "\nrecord mark: ",
        wordless: "row 1, column mass_g: expected a value of it, got 'heavy'",
        unseen: ": in the tables, not in the archive",
    }
    for number, (change, said) in enumerate(words.items()):
        assert said in refusal(rewritten(file, tmp_path / f"{number}.zip", change))
        assert rows.filled(restoring.apps) == []

    def pulled(*args: Any, **kwargs: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(restoring, "_compare", pulled)
        with pytest.raises(KeyboardInterrupt):
            command("restore", file)
    assert rows.filled(restoring.apps) == []
    assert json.loads(command("restore", file, "--json"))["digest"] == before


def test_photos_that_are_gone_or_damaged_are_named(shop: firm.Firm, tmp_path: Path) -> None:
    """The archive is made and says so; a name that is taken is refused and stays as it was."""
    names = ["ab" * 32, "cd" * 32]
    for name in names:
        Photo.objects.create(sha256=name, size=3, person=shop.wanda.person)
    put(names[1], b"odd")
    file = tmp_path / "day.zip"
    with pytest.raises(CommandError) as error:
        command("backup", file)
    default_storage.delete(photos.path_of(names[1]))
    with archive.reading(file) as found:
        told = found.about["photos"]
    with pytest.raises(CommandError, match="expected a name that is not taken"):
        command("backup", file)

    assert str(error.value).splitlines()[1:] == names
    assert told == {"count": 0, "there": [], "bad": names}
    assert file.stat().st_mode & 0o077 == 0
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["0999_not_written_yet", ""])
def test_another_version_s_database_is_refused(tmp_path: Path, name: str) -> None:
    """One that a later version had, one not migrated yet: no archive of half its columns."""
    done = MigrationRecorder(connection)
    last = max(name for app, name in done.applied_migrations() if app == "inventory")
    if name:
        done.record_applied("inventory", name)
    else:
        done.record_unapplied("inventory", last)
    with pytest.raises(CommandError, match="expected a database of this version") as error:
        command("backup", tmp_path / "day.zip")

    assert (name or "inventory 0") in str(error.value).partition("got")[2]
    assert list(tmp_path.iterdir()) == []


def drill(url: str, folder: Path, *arguments: str | Path) -> Any:
    """Run a part of the drill in a process of its own, with its own photos."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.inventory.drill", *map(str, arguments)],
        cwd=TOP,
        env=environment(url) | {"LASTBOLT_MEDIA": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def tables_of(file: Path) -> dict[str, archive.Told]:
    with archive.reading(file) as found:
        return found.tables


def earlier(about: dict[str, Any], tables: dict[str, list[Any]]) -> None:
    """As the version before figures changed at the desk were noted would have written it."""
    about["migrations"], about["digest"] = EARLIER, "ab" * 32
    loader = MigrationExecutor(connection).loader
    then = {
        model._meta.label_lower: {field.column for field in model._meta.concrete_fields}
        for model in rows.tables(loader.project_state(list(EARLIER.items())).apps)
    }
    for name in [name for name in tables if name not in then]:
        del tables[name]
    for name, (heading, *_) in list(tables.items()):
        kept = [place for place, column in enumerate(heading) if column in then[name]]
        tables[name] = [[row[place] for place in kept] for row in tables[name]]


@pytest.mark.sqlite_only
@pytest.mark.django_db
def test_an_archive_of_an_earlier_version(kept: tuple[Path, str], tmp_path: Path) -> None:
    """It goes into a database without tables and is brought up to this version, rows compared, in
    the place of a damaged photo its own; into tables of this version it does not fit."""
    file = rewritten(kept[0], tmp_path / "earlier.zip", earlier)
    url, media = f"sqlite:///{tmp_path}/new.sqlite3", str(tmp_path / "media")
    with archive.reading(file) as found:
        [(name, data)] = found.photos()
    photo = Path(media, photos.path_of(name))
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"odd")
    done = subprocess.run(
        [sys.executable, "manage.py", "restore", str(file)],
        cwd=TOP,
        env=environment(url) | {"LASTBOLT_MEDIA": media},
        capture_output=True,
        text=True,
        check=False,
    )

    assert (done.returncode, done.stderr) == (0, "")
    assert "of this version; rows as archived" in done.stdout
    assert photo.read_bytes() == data
    assert "expected a database without tables" in refusal(file)


@pytest.mark.slow
@pytest.mark.postgres_only
def test_the_drill(tmp_path: Path) -> None:
    """A day's archive, made on SQLite while a phone scans, comes back on an empty PostgreSQL; what
    phones send anew is taken once. So it goes back to an empty SQLite, row by row the same.

    The PostgreSQL has no tables yet, the SQLite has those of this version."""
    first, second, third = (tmp_path / name for name in ("a.zip", "b.zip", "c.zip"))
    begun = drill(f"sqlite:///{tmp_path}/a.sqlite3", tmp_path / "a", "begin", first)
    with own_database(os.environ["DATABASE_URL"]) as url:
        found = [drill(url, tmp_path / "b", "again", first, second)]
    (tmp_path / "b.zip.later").write_bytes((tmp_path / "a.zip.later").read_bytes())
    tables.lay(tmp_path / "c.sqlite3")
    found.append(drill(f"sqlite:///{tmp_path}/c.sqlite3", tmp_path / "c", "again", second, third))

    for told in found:
        assert told["restored"] == told["told"]["digest"] == begun["before"]
        assert (told["told"]["photos"], told["told"]["bad"]) == (2, [])
        assert (told["sent anew"], told["events"]) == (3, begun["events"])
        assert told["after"] == begun["after"] != begun["before"]
        assert (told["unguarded"], told["breaches"]) == ([], [])
    assert tables_of(first) == tables_of(second) == tables_of(third)
