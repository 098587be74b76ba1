"""The wall sheet's commands: each a label of ours, and the same ones in the browser."""

import re

from inventory.codes import own
from inventory.codes.commands import COMMANDS, is_command, text_of
from tests.tree import TOP

WALL = TOP / "inventory/static/inventory/wall.js"


def test_the_browser_knows_the_same_commands() -> None:
    """Its table is written out, because it works without signal."""
    found = re.findall(r'^  (LBX\w+): "?(\w+)"?,$', WALL.read_text(encoding="utf-8"), re.M)

    assert found == [(text_of(number), told) for number, (told, _) in COMMANDS.items()]


def test_a_command_is_a_label_of_ours_and_nothing_else_is_one() -> None:
    """Small letters fold; a wrong check character is no command."""
    text = text_of(1)

    assert own.parse(text) == own.Own("command", 1, text)
    assert is_command(text.lower())
    assert is_command(own.make("command", 500))
    for other in (own.make("unit", 1), text[:-1] + "0", "next", ""):
        assert not is_command(other)
