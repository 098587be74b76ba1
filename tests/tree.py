"""The files of this project, for the tests that read it as text."""

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent


@cache
def files(top: Path = TOP) -> tuple[Path, ...]:
    """All files that are or may be committed; every file where `top` is no git checkout."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listing = subprocess.run(command, cwd=top, capture_output=True, text=True, check=False)
    if listing.returncode or not (top / ".git").exists():
        found = [path for path in top.rglob("*") if "__pycache__" not in path.parts]
    else:
        found = [top / name for name in sorted(set(listing.stdout.split("\0"))) if name]
    return tuple(path for path in found if path.is_file())


def name_of(path: Path) -> str:
    """The path as the project writes it, "inventory/intake.py"."""
    return path.relative_to(TOP).as_posix()


def sources(*folders: str) -> list[Path]:
    """Python files below the folders, without what makemigrations wrote."""
    return [
        path
        for path in files()
        if path.suffix == ".py"
        and name_of(path).startswith(tuple(f"{folder}/" for folder in folders))
        and "migrations" not in path.parts
    ]


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Line and full name of each import, those inside functions too."""
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                yield node.lineno, f"{node.module}.{alias.name}"


def docstrings(module: ast.Module) -> set[int]:
    """The identities of the constant nodes that are docstrings."""
    holders = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    return {
        id(node.body[0].value)
        for node in ast.walk(module)
        if isinstance(node, holders) and node.body and isinstance(node.body[0], ast.Expr)
    }


def texts(path: Path, with_docstrings: bool = False) -> Iterator[tuple[int, str]]:
    """Line and value of each string a program could print, pieces of f-strings included."""
    module = parsed(path)
    left_out = set() if with_docstrings else docstrings(module)
    for node in ast.walk(module):
        text = node.value if isinstance(node, ast.Constant) else None
        if isinstance(text, str) and id(node) not in left_out:
            yield node.lineno, text
