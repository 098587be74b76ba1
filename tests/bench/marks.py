"""Writes measured figures between their marks in DEVELOPERS.md, with the commit and the machine."""

import os
import platform
import re
import subprocess
from collections.abc import Sequence
from datetime import UTC, datetime

from tests.tree import TOP

PAGE = TOP / "DEVELOPERS.md"


def write(
    name: str, lines: Sequence[str], page: str | None = None, table: Sequence[str] = ()
) -> str:
    """Return the page with these lines between the marks of `name`; without `page` it is written.

    table: its rows follow the lines, the first two of them its head.
    Raises ValueError where a bench measured nothing or the page has no such marks.
    """
    told = [line for line in lines if line.startswith("- ") and re.search(r"\d", line)]
    if not told or len(told) != len(lines):
        raise ValueError(f"{name}: expected a figure a line, got {list(lines)!r}")
    if table and (len(table) < 3 or not all(re.search(r"^\| .*\d", row) for row in table[2:])):
        raise ValueError(f"{name}: expected a figure a row, got {list(table)!r}")
    text = PAGE.read_text(encoding="utf-8") if page is None else page
    begin, end = f"<!-- {name}:begin -->\n", f"<!-- {name}:end -->"
    if text.count(begin) != 1 or text.count(end) != 1:
        raise ValueError(f"{PAGE.name}: expected the marks {begin.strip()} and {end} once each")
    before, rest = text.split(begin)
    report = "\n".join([_where(), "", *lines, *([""] if table else []), *table])
    written = f"{before}{begin}{report}\n{end}{rest.split(end)[1]}"
    if page is None:
        PAGE.write_text(written, encoding="utf-8")
    print(report)
    return written


def _where() -> str:
    command = ["git", "rev-parse", "--short", "HEAD"]
    done = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False)
    return (
        f"Measured {datetime.now(UTC):%d %b %Y} at commit {done.stdout.strip()} on "
        f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}."
    )
