"""The wall sheet: commands that are scanned instead of touched, each a label of ours."""

from typing import Final

from inventory.codes import own

COMMANDS: Final = {
    1: ("next", "Next"),
    2: ("undo", "Undo"),
    3: ("2", "2 of the next"),
    4: ("5", "5 of the next"),
    5: ("10", "10 of the next"),
    6: ("25", "25 of the next"),
    7: ("absent", "Not there"),
    8: ("full", "Parcel full"),
    9: ("again", "Print again"),
    10: ("seen", "Seen"),
}
"""Number of the label -> what a page is told, what stands on the sheet. A number never changes."""


def text_of(number: int) -> str:
    """Return the text of a command's label. Raises CodeError beyond own.MOST."""
    return own.make("command", number)
