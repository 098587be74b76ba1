"""The wall sheet's commands: each a label of ours, and the same ones in the browser."""

import re

from inventory.codes import own
from inventory.codes.commands import COMMANDS, text_of
from tests.tree import TOP

WALL = TOP / "inventory/static/inventory/wall.js"


def test_the_browser_knows_the_same_commands() -> None:
    """Its table is written out, because it works without signal."""
    found = re.findall(r'^  (LBX\w+): "?(\w+)"?,$', WALL.read_text(encoding="utf-8"), re.M)

    assert found == [(text_of(number), told) for number, (told, _) in COMMANDS.items()]


def test_a_command_is_a_label_of_ours() -> None:
    """Small letters fold; a wrong check character is no command."""
    text = text_of(1)

    assert own.parse(text.lower()) == own.Own("command", 1, text)
    assert not own.is_valid(text[:-1] + "0")
