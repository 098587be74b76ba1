"""The whole run tells the truth about what ran and what did not."""

from contextlib import nullcontext
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests import postgres, rooms, run
from tests.tree import TOP

PURE = ("codes", "incoming", "labels", "ledger", "pictures", "plan")
THREE = """import pytest


def test_passes():
    assert True


def test_fails():
    assert False


@pytest.mark.skip(reason="a row of the count")
def test_is_skipped():
    assert True
"""


def test_a_part_counts_and_fails_with_its_tests(tmp_path: Path) -> None:
    """One of each is counted as one of each, and one failure fails the part."""
    file = tmp_path / "test_three.py"
    file.write_text(THREE)

    line, passed = run.phase(
        "on sqlite", "not browser", ["-c", str(TOP / "pyproject.toml"), str(file)]
    )

    assert line == "tests on sqlite: 1 passed, 1 failed, 1 skipped"
    assert not passed


def test_no_test_falls_between_the_parts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What one part leaves unread another reads whole; those of the browser and the pure rooms are
    marked by their folder, and each part but PostgreSQL's takes what the others do not."""
    asked: dict[str, tuple[str, list[str]]] = {}

    def phase(title: str, chosen: str, extra: list[str], **more: Any) -> tuple[str, bool]:
        asked[title.rstrip(" .0123456789")] = chosen, list(more["where"])
        return title, True

    monkeypatch.setattr(run, "phase", phase)
    monkeypatch.setattr(run.postgres, "server", lambda: nullcontext("postgres://nowhere"))
    monkeypatch.setattr(run.postgres, "version", lambda url: "18.4")
    monkeypatch.setenv("REPORTS", str(tmp_path))
    monkeypatch.delenv("TESTS", raising=False)
    run.main([])

    pure, browser = [f"tests/{room}" for room in PURE], "tests/browser"
    assert asked == {
        "on sqlite": (
            "not pure and not browser and not postgres_only",
            [f"--ignore={folder}" for folder in (*pure, browser)],
        ),
        "on postgresql": (
            "not browser or both_databases",
            [f"--ignore={folder}" for folder in pure],
        ),
        "in chromium": ("browser", [browser]),
        "of the pure rooms": ("pure", pure),
    }
    assert all((TOP / folder).is_dir() for folder in (*pure, browser))


@pytest.mark.parametrize("name", sorted(rooms.ON_ONE_DATABASE))
def test_what_runs_on_one_database_is_there_and_is_of_no_law(name: str) -> None:
    """A name that fits nothing would hide what is meant to run once."""
    file, _, function = name.partition("::")

    assert f"\ndef {function}(" in (TOP / file).read_text(encoding="utf-8")
    assert not file.startswith(("tests/api/", "tests/laws/", "tests/reference/"))


def test_a_pure_room_s_test_that_asks_for_a_database_stops_the_run(
    request: pytest.FixtureRequest,
) -> None:
    """The part on PostgreSQL would never see it."""
    hook = next(
        found.pytest_collection_modifyitems
        for found in request.config.pluginmanager.get_plugins()
        if str(getattr(found, "__file__", "")).endswith("tests/conftest.py")
    )
    item = SimpleNamespace(
        path=TOP / "tests/plan/test_kit.py",
        nodeid="tests/plan/test_kit.py::test_it",
        fixturenames=["db"],
        add_marker=lambda marker: None,
        get_closest_marker=lambda name: None,
    )
    with pytest.raises(pytest.UsageError, match="no database in a pure room, got tests/plan"):
        hook(request.config, [item])


@pytest.fixture
def quiet_parts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """Parts that pass without running anything, and the titles of those asked for."""
    asked: list[str] = []

    def phase(title: str, chosen: str, extra: list[str], **more: object) -> tuple[str, bool]:
        asked.append(title)
        return f"tests {title}: 1 passed, 0 failed, 0 skipped", True

    monkeypatch.setattr(run, "phase", phase)
    monkeypatch.setenv("REPORTS", str(tmp_path))
    monkeypatch.delenv("TESTS", raising=False)
    return asked


def test_a_postgresql_that_cannot_start_fails_the_run(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], quiet_parts: list[str]
) -> None:
    """It is said in the summary, and the browser's part still runs."""

    def server() -> None:
        raise OSError("no room for the server")

    monkeypatch.setattr(postgres, "server", server)

    assert run.main([]) == 1
    assert sorted(quiet_parts) == ["in chromium", "of the pure rooms", "on sqlite"]
    assert capsys.readouterr().out.splitlines() == [
        "tests on sqlite: 1 passed, 0 failed, 0 skipped",
        "tests on postgresql: could not start: no room for the server",
        "tests in chromium: 1 passed, 0 failed, 0 skipped",
        "tests of the pure rooms: 1 passed, 0 failed, 0 skipped",
    ]


def test_sqlite_alone_is_run_when_asked_for(
    monkeypatch: pytest.MonkeyPatch, quiet_parts: list[str]
) -> None:
    """The pure rooms' too. TESTS=sqlite starts neither a server nor a browser."""
    monkeypatch.setenv("TESTS", "sqlite")

    assert run.main([]) == 0
    assert sorted(quiet_parts) == ["of the pure rooms", "on sqlite"]


def _tells(folder: Path, states: str, *asked: object, **more: object) -> tuple[str, bool]:
    """A part that leaves a report of each database with these states."""
    for name, state in zip(("sqlite", "postgresql"), states, strict=True):
        (folder / f"offline-{name}.json").write_text(f'{{"state": "{state}"}}')
    return "tests: 1 passed", True


def test_two_databases_in_two_states_fail_the_run(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    quiet_parts: list[str],
    tmp_path: Path,
) -> None:
    """What an earlier run wrote does not count; what this one wrote must be one state."""
    monkeypatch.setenv("TESTS", "sqlite")
    old = tmp_path / "offline-sqlite.json"
    old.write_text('{"state": "a"}')
    assert run.main([]) == 0
    assert not old.exists()

    for states, code, word in (("aa", 0, "the same"), ("ab", 1, "NOT the same")):
        monkeypatch.setattr(run, "phase", partial(_tells, tmp_path, states))
        assert run.main([]) == code
        said = f"state after a day without signal: {word} on 2 databases"
        assert said in capsys.readouterr().out
