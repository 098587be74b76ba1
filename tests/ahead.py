"""`make ahead`: the tests on SQLite with the next Django, where a Python for it is found.

PYTHON names one; else those of the path and of pyenv are asked. Where none is, that is said and
nothing fails. The libraries are those of the locks, but for Django, in .venv-ahead.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.tree import TOP

DJANGO: Final = "django>=6.1,<6.2"
OLDEST: Final = (3, 12)  # Python, of that Django
LATEST: Final = 14  # of the minor numbers that are asked for
NEW_ENOUGH: Final = f"import sys, venv; sys.exit(sys.version_info < {OLDEST})"
PLACE: Final = TOP / ".venv-ahead"


def main() -> int:
    """Return 0 where all passed or no Python was found, else 1."""
    python = next((one for one in interpreters() if new_enough(one)), None)
    if python is None:
        wanted = ".".join(map(str, OLDEST))
        print(f"expected a Python from {wanted} on for {DJANGO}, found none: nothing was run")
        return 0
    ours = install(python)
    version = "import django, sys; print('Django', django.__version__, 'on Python', sys.version)"
    subprocess.run([ours, "-c", version], check=True)
    command = [ours, "-m", "tests.run", *sys.argv[1:]]
    environment = os.environ | {"TESTS": "sqlite"}
    return subprocess.run(command, check=False, cwd=TOP, env=environment).returncode


def interpreters() -> Iterator[str]:
    """Where a newer Python may lie, the newest first."""
    if named := os.environ.get("PYTHON"):
        yield named
        return
    names = (f"python3.{minor}" for minor in range(LATEST, OLDEST[1] - 1, -1))
    yield from filter(None, map(shutil.which, names))
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    yield from map(str, sorted(kept.glob("3.*/bin/python"), reverse=True))


def new_enough(python: str) -> bool:
    """Whether it starts at all (a shim may not), and is new enough."""
    try:
        asked = subprocess.run([python, "-c", NEW_ENOUGH], check=False, capture_output=True)
    except OSError:
        return False
    return asked.returncode == 0


def install(python: str) -> str:
    """The interpreter of a fresh environment with what the locks name and the next Django."""
    uv = str(TOP / ".venv/bin/uv")
    locks = [word for lock in ("requirements.txt", "requirements-dev.txt") for word in ("-r", lock)]
    ours = str(PLACE / "bin/python")
    subprocess.run([uv, "venv", "--quiet", "--clear", "--python", python, PLACE], check=True)
    subprocess.run(
        [uv, "pip", "install", "--quiet", "--python", ours, *locks, "--overrides", "-"],
        input=DJANGO.encode(),
        cwd=TOP,
        check=True,
    )
    return ours


if __name__ == "__main__":
    sys.exit(main())
