"""Every command of ours refuses in plain words, ends with 1 and leaves everything as it was.

The commands are those in the folders: a new one is asked the same.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import get_commands, load_command_class
from django.db import connection, connections, transaction

from inventory.backup.rows import filled
from inventory.management.command import OurCommand
from inventory.management.paths import Given, ToRead, ToWrite
from inventory.models import Person
from tests import firm
from tests.tree import TOP

NAMES = sorted(
    path.stem
    for path in TOP.glob("*/management/commands/*.py")
    if path.stem != "__init__" and ".venv" not in path.parts
)
DJANGO_S = {"migrate"}  # speaks to people only
NAMES_A_FILE = re.compile(r"\b(file|out|path|folder|FILE)\b")
FULL = 64  # bytes that the disk still takes

Leaf = tuple[list[str], argparse.ArgumentParser]


@pytest.fixture(autouse=True)
def kept_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """A command closes its connections as it ends, and with them the test's transaction."""
    monkeypatch.setattr(connections, "close_all", lambda: None)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    """Run a command as from a shell: (exit code, standard output, standard error)."""

    def run(*words: str) -> tuple[int, str, str]:
        code = 0
        try:
            command(words[0]).run_from_argv(["manage.py", *words])
        except SystemExit as end:
            code = int(end.code or 0)
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def command(name: str) -> OurCommand:
    found = load_command_class(get_commands()[name], name)
    assert isinstance(found, OurCommand)
    return found


def leaves(name: str) -> list[Leaf]:
    """The words that lead to each set of arguments, and the parser of these."""
    parser = command(name).create_parser("manage.py", name)
    parts = [one for one in parser._actions if isinstance(one, argparse._SubParsersAction)]
    if not parts:
        return [([name], parser)]
    return [([name, word], leaf) for word, leaf in parts[0].choices.items()]


def path_type(action: argparse.Action) -> type[Given] | None:
    try:
        found = action.type("a.b") if callable(action.type) else None
    except (ValueError, argparse.ArgumentTypeError):
        return None
    return type(found) if isinstance(found, Given) else None


def words_of(action: argparse.Action, value: str) -> list[str]:
    return [*action.option_strings[:1], value]


def others(parser: argparse.ArgumentParser, asked: argparse.Action, good: Path) -> list[str]:
    """What has to be said beside the argument that is asked about."""
    groups = [group for group in parser._mutually_exclusive_groups if group.required]
    either = [one for group in groups for one in group._group_actions]
    due = [one for one in parser._actions if one.required and one not in either]
    if not asked.option_strings:  # those that may be left out, too, stand before it
        before = parser._actions[: parser._actions.index(asked)]
        due = [one for one in before if not one.option_strings and one not in [*due, *either]] + due
    due += [group._group_actions[0] for group in groups if asked not in group._group_actions]
    found = list[str]()
    for one in due:
        if one is not asked:
            value = str(good) if path_type(one) else str(next(iter(one.choices or ["X"])))
            found += words_of(one, value)
    return found


def tree(folder: Path) -> dict[str, bytes]:
    return {str(one): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


def assert_plain(code: int, err: str, path: Path | None = None) -> None:
    """One line, no word of the system's own, and no path but the one that was given."""
    assert code == 1
    assert err.startswith("CommandError: ")
    assert len(err.splitlines()) == 1, err
    assert "[Errno" not in err
    assert "Traceback" not in err
    if path is not None:
        assert str(path) in err
        assert set(re.findall(r"/[\w.-]+(?:/[\w.-]+)+", err)) == {str(path)}


@pytest.mark.django_db
@pytest.mark.parametrize("name", NAMES)
def test_a_path_that_will_not_do(name: str, run, tmp_path: Path) -> None:
    """Not there, a folder, empty, bytes that are nothing: which, and what was expected."""
    empty, noise, none = (tmp_path / one for one in ("empty.csv", "noise.csv", "none.csv"))
    empty.touch()
    noise.write_bytes(random.Random(343).randbytes(4000))
    before, rows = tree(tmp_path), filled(apps)
    for words, parser in leaves(name):
        for action in parser._actions:
            kind = path_type(action)
            if kind is None:
                assert action.type is not Path
                named = f"{action.dest} {action.metavar} {' '.join(action.option_strings)}"
                assert not NAMES_A_FILE.search(named), (words, action.dest)
                continue
            rest = others(parser, action, noise)
            for path in (none / "x.csv", tmp_path) if kind is ToWrite else (none, tmp_path, empty):
                code, out, err = run(*words, "--json", *rest, *words_of(action, str(path)))
                assert_plain(code, err, path)
                assert out == "" or kind is Given  # each answers for itself
            if kind is not ToWrite:
                code, out, err = run(*words, "--json", *rest, *words_of(action, str(noise)))
                assert_plain(code, err)
                assert all(isinstance(json.loads(line), dict) for line in out.splitlines())

    assert (tree(tmp_path), filled(apps)) == (before, rows)


@pytest.mark.parametrize("name", NAMES)
def test_a_wrong_or_a_missing_argument(name: str, run) -> None:
    """How it is used and what was wrong on standard error, 1 and not 2, nothing for a program."""
    for words, parser in leaves(name):
        said = [[*words, "--no-such-option"], [*words, "--json", "--verbosity", "loud"]]
        if any(one.required for one in [*parser._actions, *parser._mutually_exclusive_groups]):
            said += [words, words[:1]]
        for line in said:
            code, out, err = run(*line)

            assert (code, out) == (1, ""), line
            assert err.startswith(f"usage: manage.py {name}")
            assert re.match(rf"manage\.py {name}.*: error: ", err.splitlines()[-1])


@pytest.mark.parametrize("name", [name for name in NAMES if name not in DJANGO_S])
def test_a_program_may_read_it(name: str) -> None:
    """--json is understood by each, and by each of its kinds."""
    for words, parser in leaves(name):
        assert "--json" in parser._option_string_actions, words


@contextmanager
def full_disk() -> Iterator[None]:
    """The system takes no more than so many bytes of a file; Python leaves its signal alone."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (FULL, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.django_db
def test_a_disk_that_fills_up(run, tmp_path: Path) -> None:
    """No half file under the name or beside it, and what stood there stays."""
    shop = firm.build()
    shop.wanda.scan("receive", "09521234000020", target="DOCK", quantity=3)
    old = tmp_path / "old.csv"
    old.write_bytes(b"before")
    for *words, name in (
        ("backup", "new.zip"),
        ("hand_out", "items", "old.csv"),
        ("hand_out", "items", "new.xlsx"),
        ("hand_out", "events", "--out", "new.json"),
    ):
        with full_disk():
            code, out, err = run(*words, str(tmp_path / name), "--json")

        assert_plain(code, err)
        assert "got a disk that takes no more" in err
        assert out == ""
    assert tree(tmp_path) == {str(old): b"before"}


class Asks(OurCommand):
    """Asks a table that is not there, as in a database that was never migrated."""

    def handle(self, *args: object, **options: object) -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM not_there")


@pytest.mark.django_db
def test_a_database_that_does_not_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """What was wrong with it and what helps, in one line."""
    with pytest.raises(SystemExit):
        Asks().run_from_argv(["manage.py", "asks"])

    err = capsys.readouterr().err
    assert_plain(1, err)
    assert re.search(r"^CommandError: database: .*not_there.*`migrate` brings it up", err)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write and read everywhere")
def test_a_folder_of_somebody_else_s(tmp_path: Path) -> None:
    """What may not be read, and where nothing may be written."""
    secret, there = tmp_path / "secret.csv", tmp_path / "there"
    secret.touch(0o000)
    there.mkdir(0o555)
    with pytest.raises(Exception, match=r"secret\.csv: .* got one that this user may not open"):
        ToRead(secret).expect()
    with pytest.raises(Exception, match="got one in a folder that this user may not write in"):
        ToWrite(there / "new.zip").expect()


@pytest.mark.django_db
def test_the_first_person_without_a_terminal(run, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of it said, with a password that will do; else nobody is made, and it says why."""
    said = ("createsuperuser", "--noinput", "--username", "mona", "--name", "Mona Example")
    for password, words, why in (
        (None, said[:1], "expected a terminal to ask on, got none: say --noinput --username"),
        (None, said, "got no DJANGO_SUPERUSER_PASSWORD"),
        ("bench-before-seven", said[:4], "got no --name"),
        ("short", said, "DJANGO_SUPERUSER_PASSWORD: "),
    ):
        monkeypatch.delenv("DJANGO_SUPERUSER_PASSWORD", raising=False)
        if password:
            monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", password)
        code, _, err = run(*words)
        assert_plain(code, err)
        assert why in err
    assert not Person.objects.exists()

    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", "bench-before-seven")
    code, out, _ = run(*said, "--json")
    assert (code, json.loads(out)) == (0, {"username": "mona", "name": "Mona Example"})
    assert Person.objects.get().check_password("bench-before-seven")
