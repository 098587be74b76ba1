"""Whether a recall's rule names a thing: hit, no, or cannot tell; each with its reason.

A recall missed is worse than a question. So `no` is said only where what is known rules the thing
out; what is not known, and what reads alike but for capitals, dashes, 0/O or 1/I, is `cannot tell`.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache, partial

from inventory.codes.known import loosened
from inventory.codes.recall_rule import Row, Rule, Span

HIT, NO, CANNOT_TELL = "hit", "no", "cannot tell"
PART = 5  # characters that a part of a serial needs to be taken for one
UNREAD = "?"  # stands for a character that nobody could read


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a thing."""

    serial: str | None  # normal form, "" if nobody knows it, None if it has none
    # A character that nobody could read is UNREAD.
    models: frozenset[str]  # every text that names its item, as `plain` gives them
    lots: tuple[str, ...] = ()  # its batch and what that was taken from; none: not known
    made_on: date | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the rule says of a thing."""

    word: str  # HIT, NO or CANNOT_TELL
    why: str
    row: int = 0  # of the rule, 1 = first; 0: of none
    looked: tuple[int, ...] = ()  # positions of the serial that decided, 0 = first


@lru_cache(maxsize=1000)
def plain(text: str) -> str:
    """Fold what is easily mixed up: capitals, dashes and blanks, 0 and O, 1 and I."""
    return re.sub(r"[^A-Z0-9?]", "", loosened(text))


class Judge:
    """A rule made ready to judge many things."""

    def __init__(self, rule: Rule) -> None:
        """Index the listed serials once."""
        self._rows = [(row, _Listed(row.serials)) for row in rule.rows]

    def judge(self, known: Known) -> Judgement:
        """Return the row that says most: a hit before a question, a question before a no.

        >>> from inventory.codes.recall_rule import parse
        >>> Judge(parse("prefix AB12")).judge(Known("AB12007", frozenset())).looked
        (0, 1, 2, 3)
        """
        found = [_row(row, listed, known) for row, listed in self._rows]
        return _most(found) if found else Judgement(NO, "the rule is empty")


def _most(found: Sequence[Judgement]) -> Judgement:
    return min(found, key=lambda one: (HIT, CANNOT_TELL, NO).index(one.word))


def _row(row: Row, listed: _Listed, known: Known) -> Judgement:
    """All conditions of a row: one `no` is enough to rule out, one question to ask."""
    found: list[Judgement] = []
    if row.models:
        found.append(_model(row.models, known.models))
    if row.lots:
        found.append(_lot(row.lots, known.lots))
    if row.made:
        found.append(_made(row.made, known.made_on))
    if row.prefixes:
        found.append(_serial_by(known.serial, [partial(_prefix, one) for one in row.prefixes]))
    if row.spans:
        found.append(_serial_by(known.serial, [partial(_span, one) for one in row.spans]))
    if row.serials:
        found.append(_serial_by(known.serial, [listed.judge]))
    worst = max(found, key=lambda one: (HIT, CANNOT_TELL, NO).index(one.word))
    whys = [one.why for one in found if one.word == worst.word]
    looked = sorted({at for one in found for at in one.looked})
    return Judgement(worst.word, ", ".join(whys), row.number, tuple(looked))


def _model(models: Iterable[str], names: frozenset[str]) -> Judgement:
    model = next((model for model in models if plain(model) in names), "")
    return Judgement(HIT, f"is {model}") if model else Judgement(NO, "is another model")


def _lot(lots: Iterable[str], known: tuple[str, ...]) -> Judgement:
    if not known:
        return Judgement(CANNOT_TELL, "its batch is not known")
    for lot in lots:
        if lot in known:
            return Judgement(HIT, f"is of batch {lot}")
    for lot in lots:
        if plain(lot) in {plain(one) for one in known}:
            return Judgement(CANNOT_TELL, f"its batch reads like {lot}")
    return Judgement(NO, "is of another batch")


def _made(days: tuple[date, date], made_on: date | None) -> Judgement:
    if made_on is None:
        return Judgement(CANNOT_TELL, "nobody knows when it was made")
    inside = days[0] <= made_on <= days[1]
    return Judgement(HIT if inside else NO, f"was made on {made_on:%-d %b %Y}")


def _serial_by(serial: str | None, ways: Iterable[Callable[[str], Judgement]]) -> Judgement:
    if serial is None:
        return Judgement(NO, "has no serial of its own")
    if not serial:
        return Judgement(CANNOT_TELL, "nobody knows its serial")
    return _most([way(serial) for way in ways])


def _forms(serial: str) -> tuple[str, ...]:
    """The serial folded, also without the words SN that some labels have inside the code."""
    folded = plain(serial)
    return (folded, folded.removeprefix("SN")) if folded.startswith("SN") else (folded,)


def _fits(pattern: str, text: str) -> bool:
    """Whether both texts are equal but for characters that nobody could read."""
    if UNREAD not in pattern and UNREAD not in text:
        return pattern == text
    pairs = zip(pattern, text, strict=False)
    return len(pattern) == len(text) and all(UNREAD in (a, b) or a == b for a, b in pairs)


def _prefix(prefix: str, serial: str) -> Judgement:
    at = tuple(range(min(len(prefix), len(serial))))
    if serial.startswith(prefix):
        return Judgement(HIT, f"begins with {prefix}", looked=at)
    wanted = plain(prefix)
    for form in _forms(serial):
        most = min(len(wanted), len(form))
        if _fits(form[:most], wanted[:most]):
            short = len(form) < len(wanted)
            why = f"is too short for {prefix}" if short else f"its start reads like {prefix}"
            return Judgement(CANNOT_TELL, why, looked=at)
    return Judgement(NO, f"does not begin with {prefix}", looked=at)


def _span(span: Span, serial: str) -> Judgement:
    at = tuple(range(len(serial)))
    number = _number(span.left, span.width, span.right, serial)
    if number is not None:
        inside = span.first <= number <= span.last
        words = f"lies {'in' if inside else 'outside'} {span}"
        return Judgement(HIT if inside else NO, words, looked=at)
    why = next((why for form in _forms(serial) if (why := _maybe(span, form))), "")
    if why:
        return Judgement(CANNOT_TELL, why, looked=at)
    return Judgement(NO, f"is unlike {span}", looked=at)


def _number(left: str, width: int, right: str, serial: str) -> int | None:
    """The number in a serial of exactly this shape, None for one of another shape."""
    run = serial[len(left) : len(left) + width]
    whole = serial.startswith(left) and serial[len(left) + width :] == right
    shaped = whole and len(run) == width and run.isascii() and run.isdigit()
    return int(run) if shaped else None


def _maybe(span: Span, form: str) -> str:
    """Say why a folded serial of another shape may be in the range, "" if it cannot be."""
    left, right = plain(span.left), plain(span.right)
    length = len(left) + span.width + len(right)
    if UNREAD in form:
        return _unread(span, left, right, form)
    number = _number(left, span.width, right, form)
    if number is not None:
        return f"reads like one of {span}" if span.first <= number <= span.last else ""
    if len(form) != length and left and (form.startswith(left) or left.startswith(form)):
        return f"begins like {span} but has {len(form)} characters, not {length}"
    number = _number(left, span.width, "", form[: len(left) + span.width])
    if number is not None and len(form) == length:
        inside = span.first <= number <= span.last
        return f"ends in another way than {span}" if inside else ""
    return _part(span, left, right, form)


def _part(span: Span, left: str, right: str, form: str) -> str:
    """A serial that lacks the start, or has one more thing before it."""
    bare = form.removesuffix(right)
    if bare.isdigit():
        # Only the last digits are there, or a zero too many: is a number of the range like that?
        size = 10 ** min(len(bare), span.width)
        lowest = span.first + (int(bare) - span.first) % size
        if len(bare) <= span.width and lowest <= span.last:
            return f"may be the end of one of {span}"
        if not left and _holds(span, int(bare)):
            return f"has another number of digits than {span}"
    for start in range(1, len(form)) if left else ():
        number = _number(left, span.width, right, form[start:])
        if number is not None and _holds(span, number):
            return f"ends like one of {span}"
    return ""


def _holds(span: Span, number: int) -> bool:
    return span.first <= number <= span.last


def _unread(span: Span, left: str, right: str, form: str) -> str:
    """A serial with characters nobody could read: may a number of the range stand there?"""
    run = form[len(left) : len(left) + span.width]
    around = form[: len(left)] + form[len(left) + span.width :]
    if len(form) != len(left) + span.width + len(right):
        return f"cannot be read in full to be compared with {span}"
    if not _fits(around, left + right) or not re.fullmatch("[0-9?]*", run):
        return ""
    lowest, highest = int(run.replace(UNREAD, "0")), int(run.replace(UNREAD, "9"))
    apart = highest < span.first or lowest > span.last
    return "" if apart else f"cannot be read in full to be compared with {span}"


class _Listed:
    """Listed serials with what could be mistaken for them."""

    def __init__(self, serials: Sequence[str]) -> None:
        self.exact = frozenset(serials)
        self.folded = {plain(serial): serial for serial in serials}
        self.lengths = sorted({len(folded) for folded in self.folded})
        self.starts = sorted(self.folded)
        self.ends = sorted(folded[::-1] for folded in self.folded)

    def judge(self, serial: str) -> Judgement:
        """Whether a serial is one of the list."""
        at = tuple(range(len(serial)))
        if serial in self.exact:
            return Judgement(HIT, "is on the list", looked=at)
        for form in _forms(serial):
            alike = self._alike(form)
            if alike:
                return Judgement(CANNOT_TELL, f"reads like {alike} of the list", looked=at)
        return Judgement(NO, "is not on the list", looked=at)

    def _alike(self, form: str) -> str:
        if UNREAD in form:
            fits = (one for folded, one in self.folded.items() if _fits(form, folded))
            return next(fits, "")
        if form in self.folded:
            return self.folded[form]
        whole = _begun(self.starts, form) or _begun(self.ends, form[::-1])[::-1]
        if whole:
            return self.folded[whole]
        shorter = [length for length in self.lengths if PART <= length < len(form)]
        ends = (end for length in shorter for end in (form[:length], form[-length:]))
        return next((self.folded[end] for end in ends if end in self.folded), "")


def _begun(ordered: Sequence[str], part: str) -> str:
    """Return the first text that begins with a part that is long enough to be one, or ""."""
    at = bisect_left(ordered, part)
    found = ordered[at] if at < len(ordered) and len(part) >= PART else ""
    return found if found.startswith(part) else ""
