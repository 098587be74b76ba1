"""What the catalogue knows, for the one question that decides: is exactly this text known?

Nearness is never an answer: `near` and `folded` only say what a person may be asked.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Protocol

from inventory.codes import gtin, serials
from inventory.codes.characters import CAPITALS
from inventory.codes.errors import CodeError
from inventory.codes.plain import Profile


class Known(Protocol):
    """What `read` asks. The server answers from its tables, the command from a file."""

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """Label profiles to try on a plain text."""

    def names(self, text: str) -> bool:
        """Whether exactly this text is known, compared in its normal form."""

    def near(self, text: str) -> tuple[str, ...]:
        """Return known texts one slip away (0/O, 1/I, case, one character), shortest first."""


@dataclass(frozen=True, slots=True)
class Listed:
    """Known texts held in memory."""

    values: frozenset[str] = frozenset()  # normal forms
    profiles: tuple[Profile, ...] = ()
    loose: dict[str, tuple[str, ...]] = field(default_factory=dict, repr=False)

    def names(self, text: str) -> bool:
        """Whether exactly this text is known, compared in its normal form."""
        return normal(text) in self.values

    def near(self, text: str) -> tuple[str, ...]:
        """Return known texts one slip away, at most ten."""
        wanted = normal(text)
        alike = set(self.loose.get(loosened(wanted), ()))
        alike |= {value for value in self.values if is_one_edit(wanted, value)}
        return tuple(sorted(alike - {wanted}))[:10]


def listed(texts: Iterable[str], profiles: tuple[Profile, ...] = ()) -> Listed:
    """Return a catalogue of these texts."""
    values = frozenset(normal(text) for text in texts)
    loose: dict[str, tuple[str, ...]] = {}
    for value in sorted(values):
        loose[loosened(value)] = (*loose.get(loosened(value), ()), value)
    return Listed(values, profiles, loose)


NOTHING = Listed()
"""With nothing known nothing is accepted."""

LOOSE = str.maketrans("OQIL", "0011")
TYPED = "0123456789" + CAPITALS + "-./_"
"""What is tried in the place of a wrong character."""


def normal(text: str) -> str:
    """Return the normal form: article numbers as 14 digits, other texts as serials are.

    Control characters are kept: what a scanner adds is stripped before, the rest is data.
    """
    if gtin.is_valid(text):
        return text.zfill(14)
    if any(char < " " for char in text):
        return text
    try:
        return serials.key(text)
    except CodeError:
        return text


def loosened(text: str) -> str:
    """Return the text with the letters that look like digits folded: for questions only."""
    return text.upper().translate(LOOSE)


def neighbours(text: str) -> frozenset[str]:
    """Return the texts one slip away, for whoever has to look them up by name.

    One character replaced, dropped, added or swapped with the next; letters and digits that look
    alike exchanged, all at once or one by one; another case. Some 100 for each character of text.
    """
    found = {text.upper(), text.lower(), text.swapcase(), *_exchanged(text)}
    for i in range(len(text) + 1):
        head, tail = text[:i], text[i:]
        found |= {head + char + tail for char in TYPED}
        found |= {head + char + tail[1:] for char in TYPED if tail}
        found |= {head + tail[1:], head + tail[1::-1] + tail[2:]}
    return frozenset(found - {text, ""})


def _exchanged(text: str) -> set[str]:
    found = {text}
    for group in ("0OQ", "1IL", "5S", "8B", "2Z"):
        for char in group:
            found |= {one.replace(old, char) for one in set(found) for old in group}
    return found


def is_one_edit(a: str, b: str) -> bool:
    """Whether one character replaced, dropped, added, or two neighbours swapped make a into b."""
    if abs(len(a) - len(b)) > 1 or a == b:
        return False
    start = 0
    while start < min(len(a), len(b)) and a[start] == b[start]:
        start += 1
    rest_a, rest_b = a[start:], b[start:]
    if len(a) == len(b):
        swapped = rest_a[1::-1] + rest_a[2:]
        return rest_a[1:] == rest_b[1:] or swapped == rest_b
    return rest_a[1:] == rest_b if len(a) > len(b) else rest_a == rest_b[1:]
