"""`make faults`: plant each known fault in a copy of the tree; the test it names must turn red.

A patch NN_name.patch opens with two lines and goes on as `git diff` writes it:

    fault: what the mistake would do to a person's day
    test: tests/ledger/test_tree.py::test_a_proof_fails_for_another_leaf

A line `law: I7 I10` after them names the laws of `tests/laws/invariants.csv` that it breaks; a line
`database: postgresql` before that runs the test on a server of its own, else it is SQLite.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from tests import axe, postgres
from tests.tree import TOP, files

FOLDER = Path(__file__).resolve().parent
TESTS_FAILED = 1  # pytest's exit code; others mean that the test did not run at all
PATIENCE = 300  # seconds one test may take
HEAD = re.compile(
    r"\Afault: (?P<fault>.+)\ntest: (?P<test>tests/\S+::\S.*)\n"
    r"(?:database: (?P<database>postgresql)\n)?(?:law: (?P<laws>I.+)\n)?"
)


@dataclass(frozen=True, slots=True)
class Fault:
    patch: Path
    about: str  # the mistake in words
    test: str  # node id of the test that must turn red
    laws: tuple[str, ...] = ()  # numbers of the laws it breaks
    on_postgresql: bool = False  # else on SQLite


@dataclass(frozen=True, slots=True)
class Outcome:
    fault: Fault
    killed: bool
    words: str  # what happened


def read(patch: Path) -> Fault:
    """The head of a patch; ValueError where it does not name fault and test."""
    head = HEAD.match(patch.read_text(encoding="utf-8"))
    if head is None:
        raise ValueError(
            f"{patch.name}: expected the lines 'fault: ...' and 'test: tests/...::...'"
        )
    laws = tuple((head["laws"] or "").split())
    return Fault(patch, head["fault"], head["test"], laws, head["database"] is not None)


def copy(top: Path, to: Path) -> None:
    brought = top / axe.SOURCE.relative_to(TOP)  # by npm: git does not list it
    for path in [*files(top), *([brought] if brought.exists() else [])]:
        target = to / path.relative_to(top)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, target)


def apply(patch: Path, tree: Path, *more: str) -> str:
    """Change the tree; "" or what git said against it."""
    command = ["git", "apply", *more, str(patch)]
    # Without a ceiling, git would look for a checkout above the copy and skip every file.
    environment = os.environ | {"GIT_CEILING_DIRECTORIES": str(tree.parent)}
    done = subprocess.run(
        command, cwd=tree, env=environment, capture_output=True, text=True, check=False
    )
    return done.stderr.strip() if done.returncode else ""


def pytest(tree: Path, tests: list[str], database: str = "") -> int:
    """Exit code of the tests in that tree, on the database of that address, else on SQLite."""
    command = [sys.executable, "-m", "pytest", "-x", "-p", "no:cacheprovider", *tests]
    clean = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    # Compiled files would outlive a patch applied within the same second.
    own = {"PYTHONDONTWRITEBYTECODE": "1"} | ({"DATABASE_URL": database} if database else {})
    try:
        done = subprocess.run(
            command,
            cwd=tree,
            env=clean | own,
            capture_output=True,
            timeout=PATIENCE * len(tests),
            check=False,
        )
    except subprocess.TimeoutExpired:
        return -1
    return done.returncode


def plant(fault: Fault, tree: Path, healthy: bool, database: str = "") -> Outcome:
    """Judge one fault and leave the tree as it was."""
    if not healthy and pytest(tree, [fault.test], database) != 0:
        return Outcome(fault, False, "its test is not green without the fault")
    if refusal := apply(fault.patch, tree):
        return Outcome(fault, False, f"the patch no longer applies: {refusal}")
    code = pytest(tree, [fault.test], database)
    if refusal := apply(fault.patch, tree, "-R"):
        raise RuntimeError(f"{fault.patch.name} could not be taken back: {refusal}")
    if code == TESTS_FAILED:
        return Outcome(fault, True, "killed")
    return Outcome(fault, False, "survived" if code == 0 else f"its test did not run (exit {code})")


def run(top: Path, patches: list[Path]) -> list[Outcome]:
    """Judge each patch in one copy of the tree; the tree itself is left alone."""
    faults = [read(patch) for patch in patches]
    with tempfile.TemporaryDirectory(prefix="lastbolt-faults-") as folder, ExitStack() as stack:
        tree = Path(folder) / "tree"
        copy(top, tree)
        server = ""
        if any(fault.on_postgresql for fault in faults):
            server = stack.enter_context(postgres.server())
        on_sqlite = sorted({fault.test for fault in faults if not fault.on_postgresql})
        healthy = not on_sqlite or pytest(tree, on_sqlite) == 0
        outcomes = []
        for fault in faults:
            if fault.on_postgresql:
                outcomes.append(plant(fault, tree, healthy=False, database=server))
            else:
                outcomes.append(plant(fault, tree, healthy))
            print(f"{fault.patch.stem}: {outcomes[-1].words}  ({fault.about})", flush=True)
    return outcomes


def main() -> int:
    """All patches of this folder, or those whose name starts with an argument."""
    starts = tuple(sys.argv[1:]) or ("",)
    patches = sorted(path for path in FOLDER.glob("*.patch") if path.name.startswith(starts))
    if not patches:
        print(f"no patch in {FOLDER.name} starts with {' or '.join(starts)}", file=sys.stderr)
        return 1
    outcomes = run(TOP, patches)
    killed = sum(outcome.killed for outcome in outcomes)
    print(f"killed {killed} of {len(outcomes)}")
    return 0 if killed == len(outcomes) else 1


if __name__ == "__main__":
    sys.exit(main())
