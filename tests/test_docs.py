"""What README.md and DEVELOPERS.md say is so."""

import ast
import re

import pytest
from django.core.management import get_commands

from tests.tree import TOP, files, name_of, parsed

README = (TOP / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
READERS = {
    *("text", "yes_no", "whole", "listed", "several", "choice", "networks"),
    *("folder", "origins", "secret", "database"),
}


def section(page: str, title: str) -> str:
    found = re.search(rf"^## {title}\n(.*?)(?=^## |\Z)", page, re.M | re.S)
    assert found, f"no section {title}"
    return found.group(1)


def targets() -> set[str]:
    """What plain `make` lists, itself apart."""
    makefile = (TOP / "Makefile").read_text(encoding="utf-8")
    return set(re.findall(r"^([a-z-]+):.*## ", makefile, re.M)) - {"help"}


def settings_read() -> set[str]:
    """The variables that settings.py asks for."""
    calls = [
        call
        for node in parsed(TOP / "kitting" / "settings.py").body
        if isinstance(node, ast.Assign)
        for call in ast.walk(node)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name)
    ]
    named = [(call.func.id, call.args[0].value) for call in calls if call.func.id in READERS]
    return {name for _, name in named} | {f"{name}_FILE" for how, name in named if how == "secret"}


def first_cells(table: str) -> list[str]:
    return re.findall(r"^\| `([^`]+)`", table, re.M)


def test_the_settings_table_is_complete() -> None:
    """Each variable the program reads has a row, and each row is read."""
    rows = first_cells(section(README, "Settings"))

    assert len(settings_read()) > 10
    assert sorted(rows) == sorted(settings_read())


def test_the_make_commands_are_those_of_the_makefile() -> None:
    """README lists every target, and no page names one that is not there."""
    rows = {row.split()[1] for row in first_cells(section(README, "Commands")) if "make" in row}
    named = set(re.findall(r"`(?:[A-Z]+=\w+ )?make ([a-z-]+)", README + DEVELOPERS))

    assert rows | {"test"} == targets()
    assert named <= targets()


def test_the_manage_commands_are_ours() -> None:
    """README lists every command of the two houses and no other."""
    ours = {name for name, app in get_commands().items() if app in {"inventory", "kitting"}}
    rows = {
        row.split()[0]
        for row in first_cells(section(README, "Commands"))
        if not row.startswith("make ")
    }

    assert rows == ours


def test_every_place_of_the_table_is_there() -> None:
    """The table "Where does X live" names files and folders that exist."""
    places = re.findall(r"`([\w./-]+)`", section(DEVELOPERS, "Where does X live"))

    assert len(places) > 30
    assert [place for place in places if not (TOP / place).exists()] == []


def test_every_act_and_writer_is_in_the_table() -> None:
    """No module of the two houses is missing from the table."""
    table = section(DEVELOPERS, "Where does X live")
    plain = {"__init__.py", "apps.py", "wsgi.py", "api.py"}
    modules = [
        name_of(path)
        for path in files()
        if re.fullmatch(r"(inventory|kitting)/\w+\.py", name_of(path)) and path.name not in plain
    ]

    assert modules
    assert [name for name in modules if f"`{name}`" not in table] == []


@pytest.mark.parametrize("app", ["inventory", "kitting"])
def test_each_house_explains_itself(app: str) -> None:
    """Half a page of ideas and words lies in each app folder."""
    page = (TOP / app / "README.md").read_text(encoding="utf-8")

    assert 10 <= len(page.splitlines()) <= 60


def test_pictures_and_files_that_pages_show_are_there() -> None:
    """No link of a page leads nowhere."""
    linked = re.findall(r"\]\(([^)#:]+)\)", README + DEVELOPERS)

    assert linked
    assert [name for name in linked if not (TOP / name).exists()] == []


def test_the_measured_part_is_marked() -> None:
    """`make bench` writes its table between the marks."""
    assert re.search(r"<!-- bench:begin -->\n.*<!-- bench:end -->", DEVELOPERS, re.S)


def test_the_licence_is_told_twice() -> None:
    """MIT stands in README.md and in pyproject.toml."""
    assert section(README, "Licence").strip().startswith("MIT.")
    assert 'license = "MIT"' in (TOP / "pyproject.toml").read_text(encoding="utf-8")
