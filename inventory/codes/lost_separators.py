"""What an element string may have been before a scanner dropped its separators.

Nothing here is ever accepted: the candidates are shown to a person, who scans again or chooses.
A keyboard cannot type the group separator, so many hand scanners drop it or send `029`
(Source: axenox/onscan.js issue 40, jodal/biip issue 137); the greedy reading is then legal, and
wrong.
"""

from collections.abc import Iterator

from inventory.codes import associations, element_strings, identifiers, value_checks
from inventory.codes.associations import Elements
from inventory.codes.characters import GS
from inventory.codes.errors import CodeError

STEPS = 20000
"""Splits tried before giving up: about 0.1 s. A cut search only shows fewer candidates."""

MOST = 200
"""Candidates kept; a person reads the first few."""

TYPED = "029"
"""Alt+029 whose digits arrived as text."""

CHECKED = ("check", "date0", "date", "date8", "piece", "pair", "device")
PROVEN = ("check", "pair", "device")


def candidates(text: str) -> tuple[Elements, ...]:
    """Return other readings of the text, with separators put in; the most checked ones first."""
    search = _Search(text)
    found = {elements for elements in search.readings(0) if _pairs(elements)}
    return tuple(sorted(found, key=_rank)[:MOST])


def hidden(elements: Elements) -> tuple[Elements, ...]:
    """Return the readings in which the last value of a greedy reading holds further elements."""
    *head, (code, value) = elements
    if identifiers.table()[code].fixed:
        return ()
    search = _Search(code + value)
    whole = {(*head, *tail) for tail in search.readings(0) if tail != ((code, value),)}
    return tuple(sorted((e for e in whole if _pairs(e)), key=_rank)[:MOST])


def is_strong(greedy: Elements, candidate: Elements) -> bool:
    """Whether chance hardly explains the candidate: a key with its check digit, or two dates."""
    inside = candidate[len(greedy) - 1 :]
    return any(_has(code, PROVEN) for code, _ in inside[1:]) or _checks(inside[1:]) > 1


class _Search:
    """Depth-first search over the ends of values, with a budget of steps."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.steps = STEPS
        self.dead: set[int] = set()  # positions from which no reading reaches the end

    def readings(self, position: int) -> Iterator[Elements]:
        if position >= len(self.text):
            yield ()
            return
        identifier = None if position in self.dead else identifiers.at(self.text, position)
        if identifier is None:
            return
        fruitful = False
        for value, following in self._values(position, identifier):
            for rest in self.readings(following):
                fruitful = True
                yield ((identifier.code, value), *rest)
        if not fruitful and self.steps > 0:
            self.dead.add(position)

    def _values(self, at: int, identifier: identifiers.Identifier) -> Iterator[tuple[str, int]]:
        longest, end = element_strings.value_at(self.text, at, identifier)
        start = end - len(longest)
        least = len(longest) if identifier.fixed else identifier.least
        for length in range(min(len(longest), identifier.most), least - 1, -1):
            self.steps -= 1
            if self.steps <= 0:
                return
            value = longest[:length]
            if not _takes(identifier, value):
                continue
            following = start + length
            if self.text.startswith(GS, following) or identifier.fixed:
                yield value, following + self.text.startswith(GS, following)
            elif self._may_join(following):
                yield value, following
                if self.text.startswith(TYPED, following):
                    yield value, following + len(TYPED)

    def _may_join(self, position: int) -> bool:
        """Whether an identifier or typed digits of a separator follow, with something behind."""
        if position >= len(self.text):
            return True
        following = identifiers.at(self.text, position)
        if following is None and not self.text.startswith(TYPED, position):
            return False
        behind = position + (len(following.code) if following else len(TYPED))
        return behind < len(self.text)


def _takes(identifier: identifiers.Identifier, value: str) -> bool:
    try:
        value_checks.check(identifier, value)
    except CodeError:
        return False
    return True


def _pairs(elements: Elements) -> bool:
    try:
        return not associations.check(elements)
    except CodeError:
        return False


def _has(code: str, checks: tuple[str, ...]) -> bool:
    return any(part.check in checks for part in identifiers.table()[code].parts)


def _checks(elements: Elements) -> int:
    return sum(_has(code, CHECKED) for code, _ in elements)


def _rank(elements: Elements) -> tuple[int, int, int, Elements]:
    internal = sum(associations.is_internal(code) for code, _ in elements)
    return (-_checks(elements), internal, len(elements), elements)
