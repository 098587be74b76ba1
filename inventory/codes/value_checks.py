"""Whether a value has the form that its GS1 identifier demands.

Source: GS1 General Specifications section 3, by tables/gs1_identifiers.csv.
"""

from inventory.codes import check_digits, dates
from inventory.codes.characters import first_outside
from inventory.codes.contents import CONTENTS, RIGHT, Check, Verdict, raising, simple
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


def _piece_of_total(piece: str) -> Verdict:
    number, total = int(piece[:2]), int(piece[2:])
    if not number or not total:
        return "zero_piece", "pieces counted from 01"
    return RIGHT if number <= total else ("piece_exceeds_total", "a piece no more than the total")


CHECKS: dict[str, Check] = {
    **CONTENTS,
    "check": simple("check_digit", "a right check digit", check_digits.is_checked),
    "date0": raising(lambda piece: dates.six_digits(piece, ANY_YEAR, day_zero=True)),
    "date": raising(lambda piece: dates.six_digits(piece, ANY_YEAR)),
    "date8": raising(dates.eight_digits),
    "hhmm": raising(dates.time),
    "hour": raising(dates.time),
    "minute": raising(lambda piece: dates.time("00" + piece)),
    "piece": _piece_of_total,
    "zero": simple("leading_zero_required", "a zero in front", lambda p: p == "0"),
    "no_leading_zero": simple(
        "leading_zero_forbidden", "no zero in front", lambda p: not p.startswith("0") or p == "0"
    ),
    "nonzero": simple("zero_value", "a number above 0", lambda p: p.strip("0") != ""),
    "winding": simple("bad_winding", "0, 1 or 9", lambda p: p in "019"),
    "yesno": simple("bad_flag", "0 or 1", lambda p: p in "01"),
    "hyphen": simple("bad_sign", "a hyphen", lambda p: p == "-"),
}
