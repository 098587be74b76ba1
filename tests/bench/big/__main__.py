"""`make bench-big`: a firm's years, loaded in bulk into a throw-away database, visited and timed.

Both sizes on both databases unless told otherwise. Each part is written between marks of its own
in DEVELOPERS.md. Ten million movements need 25 GB of room and half an hour on each database.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.bench import marks
from tests.postgres import server
from tests.tree import TOP

SIZES = (100_000, 10_000_000)
DATABASES = ("sqlite", "postgresql")


def main() -> int:
    """Run the parts that are asked for, write each as it ends; return 0 if all went well."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--sizes", type=int, nargs="+", default=SIZES, help="movements")
    asked.add_argument("--databases", nargs="+", choices=DATABASES, default=DATABASES)
    asked.add_argument("--keep", type=Path, help="folder where the databases stay and are found")
    told = asked.parse_args()
    for movements in told.sizes:
        for database in told.databases:
            _part(movements, database, told.keep)
    return 0


def _part(movements: int, database: str, keep: Path | None) -> None:
    with _folder(keep, movements) as folder, _url(database, folder, keep) as url:
        given = {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "kitting.settings"}
        static = {"LASTBOLT_STATIC": str(folder / "static"), "PYTHONPATH": str(TOP)}
        here = {**os.environ, **given, **static}
        collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
        subprocess.run(collect, cwd=TOP, env=here, check=True)
        command = [sys.executable, "-m", "tests.bench.big.one_size", str(movements), str(folder)]
        done = subprocess.run(command, cwd=TOP, env=here, stdout=subprocess.PIPE, check=True)
    marks.write(f"big-{database}-{movements}", done.stdout.decode().splitlines())


@contextmanager
def _folder(keep: Path | None, movements: int) -> Iterator[Path]:
    """A folder outside the project; it is removed unless it is to be kept."""
    if keep is None:
        with tempfile.TemporaryDirectory(prefix="lastbolt-big-") as name:
            yield Path(name)
        return
    folder = keep.resolve() / str(movements)
    if folder.is_relative_to(TOP):
        raise SystemExit(f"--keep: expected a folder outside {TOP}, got {keep}")
    folder.mkdir(parents=True, exist_ok=True)
    yield folder


@contextmanager
def _url(database: str, folder: Path, keep: Path | None) -> Iterator[str]:
    if database == "sqlite":
        yield f"sqlite:///{folder}/big.sqlite3"
        return
    if keep is not None:
        (folder / "postgresql").mkdir(exist_ok=True)
    with server(haste=False, keep=folder / "postgresql" if keep else None) as url:
        yield url


if __name__ == "__main__":
    sys.exit(main())
