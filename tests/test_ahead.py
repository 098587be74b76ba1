"""The run with the next Django takes a Python that starts and is new enough, if there is one."""

import sys
from pathlib import Path

import pytest

from tests import ahead


def test_a_python_that_does_not_start_or_is_too_old_is_not_taken(tmp_path, monkeypatch) -> None:
    """A shim of a version that is not there ends with an error."""
    shim = tmp_path / "python3.13"
    shim.write_text("#!/bin/sh\nexit 127\n")
    shim.chmod(0o755)

    assert not ahead.new_enough(str(shim))
    assert not ahead.new_enough(str(tmp_path / "nowhere"))
    monkeypatch.setattr(ahead, "NEW_ENOUGH", "import sys; sys.exit(sys.version_info < (3, 11))")
    assert ahead.new_enough(sys.executable)
    monkeypatch.setattr(ahead, "NEW_ENOUGH", "import sys; sys.exit(sys.version_info < (99,))")
    assert not ahead.new_enough(sys.executable)


def test_the_one_that_is_named_comes_alone_else_the_newest_first(tmp_path, monkeypatch) -> None:
    """Those of the path stand before those kept aside."""
    names = ("bin/python3.12", "bin/python3.14", "versions/3.12.1/bin/python")
    for path in map(tmp_path.joinpath, names):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("#!/bin/sh\n")
        path.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    monkeypatch.setenv("PYENV_ROOT", str(tmp_path))
    monkeypatch.delenv("PYTHON", raising=False)
    found = [str(Path(one).relative_to(tmp_path)) for one in ahead.interpreters()]

    assert found == ["bin/python3.14", "bin/python3.12", "versions/3.12.1/bin/python"]
    monkeypatch.setenv("PYTHON", "/somewhere/python")
    assert list(ahead.interpreters()) == ["/somewhere/python"]


def test_where_none_is_found_that_is_said_and_nothing_fails(
    monkeypatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is installed then."""
    monkeypatch.setattr(ahead, "interpreters", lambda: iter(["/nowhere/python"]))
    monkeypatch.setattr(ahead, "new_enough", lambda python: False)
    monkeypatch.setattr(ahead, "install", lambda python: pytest.fail("installed"))

    assert ahead.main() == 0
    assert "expected a Python from 3.12 on" in capsys.readouterr().out
