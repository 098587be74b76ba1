"""Keyboard layouts."""

import pytest

from inventory.codes import layouts


@pytest.mark.parametrize("name", sorted(layouts.HOSTS))
def test_layouts_map_one_to_one(name):
    """No character of a layout stands for two keys, so undoing is never a guess."""
    keys = [char for char in layouts.HOSTS[name] if char != "\0"]

    assert len(layouts.HOSTS[name]) == len(layouts.US)
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize(
    ("host", "sent"),
    [("DE QWERTZ", "LBU00000Y7-/"), ("FR AZERTY", "QAMZ-0123"), ("UK", "A@B"), ("IT", "A-_1")],
)
def test_what_a_layout_does_is_undone(host, sent):
    """A text typed on US keys and shown in another layout comes back."""
    layout = layouts.HOSTS[host.split()[0]]
    shown = "".join(layout[layouts.US.index(char)] for char in sent)

    assert shown != sent
    assert layouts.undo(shown, host)[0] == sent


@pytest.mark.parametrize(
    ("text", "host", "scanner"),
    [
        ("QZ", "", "US"),
        ("QZ", "XX", "US"),
        ("QZ", "DE", "FR"),
        ("Q\u20acZ", "DE", "US"),  # a character no key makes
        ("123", "DE", "US"),  # nothing changes
    ],
)
def test_nothing_to_undo(text, host, scanner):
    """Without a known pair of layouts, or with a foreign character, nothing is offered."""
    assert layouts.undo(text, host, scanner) == ("", "")


def test_late_shift():
    """Shifted digits go back to digits; other texts give nothing."""
    assert layouts.late_shift("#Be-4") == "3BE-4"
    assert layouts.late_shift("ABC") == ""
    assert layouts.late_shift("#/") == ""
