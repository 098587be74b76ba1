"""What pages, labels, papers and commands never say."""

import re
from pathlib import Path

import pytest

from tests.tree import TOP, files, name_of, sources, texts

# We print what a rule says and who decides; a verdict on danger is not ours to give.
VERDICT = re.compile(r"\b(?:un)?safe(?:r|st|ly|ty)?\b", re.I)
# A document's own name, how a style sheet asks for the notch of a phone, a keyword of browsers.
ALLOWED = re.compile(r"safety data sheet|safe-area-inset-\w+|'wasm-unsafe-eval'", re.I)
MARKUP = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.S)
PAGES = {".html", ".txt", ".js", ".css", ".svg"}
DATA = {".toml", ".csv", ".json", ".md"}


def verdicts(text: str) -> list[str]:
    return VERDICT.findall(ALLOWED.sub("", text))


def printed(path: Path) -> list[str]:
    """The texts of a file that can reach a reader."""
    name = name_of(path)
    if path.suffix == ".py" and name.startswith(("inventory/", "kitting/")):
        commands = "/commands/" in name  # a command prints its docstring as its help
        return [text for _, text in texts(path, with_docstrings=commands)]
    whole = (path.suffix in PAGES and not name.startswith("tests/")) or (
        path.suffix in DATA and name.startswith("fixtures/")
    )
    return [MARKUP.sub("", path.read_text(encoding="utf-8"))] if whole else []


def test_nothing_printed_gives_a_verdict_on_danger() -> None:
    """No template, script, family, message or help text holds the word in any of its forms."""
    assert [
        f"{name_of(path)}: {word}"
        for path in files()
        for text in printed(path)
        for word in verdicts(text)
    ] == []


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("This is Safe to touch", 1),
        ("lift it safely", 1),
        ("read the safety data sheet", 0),  # the paper's own name
        ("padding: env(safe-area-inset-bottom)", 0),  # a browser's word
        ("script-src 'wasm-unsafe-eval'", 0),  # another
        ("this is unsafe", 1),
        ("a failsafe relay", 0),  # another word
        ("SAFE_METHODS", 0),  # a name in the code
    ],
)
def test_the_search_sees_words_not_pieces(text: str, count: int) -> None:
    """The whole word counts, a part of another word or of a name does not."""
    assert len(verdicts(text)) == count


def test_the_search_reads_what_people_read() -> None:
    """Settings messages count as printed, tests and docstrings of plain modules do not."""
    settings = printed(TOP / "kitting" / "settings.py")

    assert any("yes or no" in text for text in settings)
    assert printed(TOP / "tests" / "test_words.py") == []
    assert sources("kitting")
