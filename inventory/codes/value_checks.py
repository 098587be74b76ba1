"""Whether a value has the form that its GS1 identifier demands.

Source: GS1 General Specifications section 3, by tables/gs1_identifiers.csv.
"""

from collections.abc import Callable

from inventory.codes import check_digits, dates
from inventory.codes.characters import first_outside
from inventory.codes.errors import CodeError
from inventory.codes.identifiers import Identifier, Part

ANY_YEAR = 2000
"""A leap year: whether 29 February exists is judged with the century, see `fields`."""


def check(identifier: Identifier, value: str) -> None:
    """Raise CodeError where the value cannot stand behind the identifier."""
    if not value:
        raise _wrong("empty_value", identifier, "a value", value)
    if strange := first_outside(value, identifier.allowed):
        raise _wrong("illegal_character", identifier, "characters of its set", strange)
    check_length(identifier, value)
    start = 0
    for part in identifier.parts:
        if start == len(value) and part.optional:
            break
        piece = value[start : start + part.most]
        _check_part(identifier, part, piece)
        start += len(piece)


def check_length(identifier: Identifier, value: str) -> None:
    """Raise CodeError where a value is too long or too short for the identifier."""
    if len(value) > identifier.most:
        raise _wrong("too_long", identifier, f"at most {identifier.most} characters", value)
    if len(value) < identifier.least:
        raise _wrong("too_short", identifier, f"at least {identifier.least} characters", value)


def _check_part(identifier: Identifier, part: Part, piece: str) -> None:
    if len(piece) < part.least:
        raise _wrong("wrong_length", identifier, f"{part.least} characters", piece)
    if strange := first_outside(piece, part.allowed):
        raise _wrong("illegal_character", identifier, "characters of its set", strange)
    if part.check:
        kind, expected = CHECKS[part.check](piece)
        if kind:
            raise _wrong(kind, identifier, expected, piece)


def _wrong(kind: str, identifier: Identifier, expected: str, got: str) -> CodeError:
    message = f"({identifier.code}) {identifier.meaning}: expected {expected}, got {got[:40]!r}"
    return CodeError(kind, message)


Verdict = tuple[str, str]
RIGHT: Verdict = ("", "")


def _simple(kind: str, expected: str, good: Callable[[str], bool]) -> Callable[[str], Verdict]:
    return lambda piece: RIGHT if good(piece) else (kind, expected)


def _date(read: Callable[[str], str]) -> Callable[[str], Verdict]:
    def judge(piece: str) -> Verdict:
        try:
            read(piece)
        except CodeError as error:
            return error.kind, error.message
        return RIGHT

    return judge


def _piece_of_total(piece: str) -> Verdict:
    number, total = int(piece[:2]), int(piece[2:])
    if not number or not total:
        return "zero_piece", "pieces counted from 01"
    return RIGHT if number <= total else ("piece_exceeds_total", "a piece no more than the total")


CHECKS: dict[str, Callable[[str], Verdict]] = {
    "check": _simple("check_digit", "a right check digit", check_digits.is_checked),
    "pair": _simple(
        "check_pair",
        "a right pair of check characters",
        lambda piece: len(piece) > 2 and check_digits.check_pair(piece[:-2]) == piece[-2:],
    ),
    "date0": _date(lambda piece: dates.six_digits(piece, ANY_YEAR, day_zero=True)),
    "date": _date(lambda piece: dates.six_digits(piece, ANY_YEAR)),
    "date8": _date(dates.eight_digits),
    "hhmm": _date(dates.time),
    "hour": _date(dates.time),
    "minute": _date(lambda piece: dates.time("00" + piece)),
    "piece": _piece_of_total,
    "zero": _simple("leading_zero_required", "a zero in front", lambda p: p == "0"),
    "no_leading_zero": _simple(
        "leading_zero_forbidden", "no zero in front", lambda p: not p.startswith("0") or p == "0"
    ),
    "nonzero": _simple("zero_value", "a number above 0", lambda p: p.strip("0") != ""),
    "winding": _simple("bad_winding", "0, 1 or 9", lambda p: p in "019"),
    "yesno": _simple("bad_flag", "0 or 1", lambda p: p in "01"),
    "hyphen": _simple("bad_sign", "a hyphen", lambda p: p == "-"),
}
