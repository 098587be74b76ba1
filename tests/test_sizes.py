"""Nothing grows beyond what one reader takes in at once."""

import ast
from pathlib import Path
from statistics import median

import pytest

from tests.tree import files, name_of, parsed, sources

FILE_LINES = 400
FUNCTION_LINES = 60
CODE = {".py", ".js", ".css", ".html", ".toml", ".md"}


def lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def functions(path: Path) -> list[tuple[str, int]]:
    """Name and length in lines of each function."""
    return [
        (f"{name_of(path)}:{node.lineno} {node.name}", (node.end_lineno or 0) - node.lineno + 1)
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def test_no_file_is_longer_than_its_limit() -> None:
    """Code, pages and papers keep within 400 lines; a family's data may be longer."""
    assert [
        f"{name_of(path)}: {lines(path)}"
        for path in files()
        if path.suffix in CODE
        and "migrations" not in path.parts
        and not name_of(path).startswith("fixtures/")
        and lines(path) > FILE_LINES
    ] == []


def test_no_function_is_longer_than_its_limit() -> None:
    """A function keeps within 60 lines, tests included."""
    every = [f for path in sources("inventory", "kitting", "tests") for f in functions(path)]

    assert every
    assert [f"{name}: {length}" for name, length in every if length > FUNCTION_LINES] == []


def test_the_medians_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The run prints the median length of files (goal 90) and functions (goal 9)."""
    ours = [path for path in sources("inventory", "kitting") if lines(path)]
    file_median = median(lines(path) for path in ours)
    function_median = median(length for path in ours for _, length in functions(path))
    with capsys.disabled():
        print(
            f"\nmedian lines: file {file_median:g} of {len(ours)} (goal 90),"
            f" function {function_median:g} (goal 9)"
        )

    assert file_median <= FILE_LINES
    assert function_median <= FUNCTION_LINES
