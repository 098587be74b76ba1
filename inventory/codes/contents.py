"""What stands inside a part of a GS1 value: a country, a currency, a place on Earth, an account.

Source: GS1 General Specifications section 3, by the linters of the GS1 Barcode Syntax Dictionary;
code lists by tables/gs1_code_lists.csv. Each check answers (kind of refusal, what was expected), or
two empty texts.

>>> CONTENTS["country"]("276"), CONTENTS["country"]("999")[0]
(('', ''), 'bad_country')
"""

import re
from collections.abc import Callable

from inventory.codes import code_lists, coupons
from inventory.codes.characters import ALNUM, CAPITALS
from inventory.codes.check_digits import check_pair
from inventory.codes.errors import CodeError

Verdict = tuple[str, str]
RIGHT: Verdict = ("", "")
Check = Callable[[str], Verdict]

SHORTEST_PREFIX = 4
"""Digits of the shortest company prefix; which prefixes are given out is not known here."""
ESCAPE = re.compile("%(?![0-9A-Fa-f]{2})")
OF_TOTAL = re.compile("([1-9][0-9]*)/([1-9][0-9]*)")
LATITUDE, LONGITUDE = 1_800_000_000, 3_600_000_000
"""Ten-millionths of a degree from the south pole, and eastwards."""
ACCOUNT = "0123456789" + CAPITALS
SHORTEST_ACCOUNT = 11
PROCESSOR_ANYWHERE = frozenset({"999"})


def simple(kind: str, expected: str, good: Callable[[str], bool]) -> Check:
    """Return the check that a piece is `good`."""
    return lambda piece: RIGHT if good(piece) else (kind, expected)


def raising(judge: Callable[[str], object]) -> Check:
    """Return the check that `judge` raises no CodeError."""

    def check(piece: str) -> Verdict:
        try:
            judge(piece)
        except CodeError as error:
            return error.kind, error.message
        return RIGHT

    return check


def every(*checks: Check) -> Check:
    """Return the check that fails as the first of these that fails."""
    return lambda piece: next((v for v in (check(piece) for check in checks) if v != RIGHT), RIGHT)


def _has_prefix(piece: str) -> bool:
    start = piece[:SHORTEST_PREFIX]
    return len(start) == SHORTEST_PREFIX and start.isascii() and start.isdigit()


def _is_account(piece: str) -> bool:
    """ISO 13616-1: the first four go to the end, letters count from 10, the rest by 97 is 1."""
    if len(piece) < SHORTEST_ACCOUNT or any(char not in ACCOUNT for char in piece):
        return False
    digits = "".join(str(ACCOUNT.index(char)) for char in piece[4:] + piece[:4])
    return piece[:2] in code_lists.codes("country_letters") and int(digits) % 97 == 1


def _is_of_total(piece: str) -> bool:
    match = OF_TOTAL.fullmatch(piece)
    return match is not None and int(match[1]) <= int(match[2])


_PREFIX = simple("company_prefix", f"{SHORTEST_PREFIX} digits of a company in front", _has_prefix)
_PAIR = simple(
    "check_pair",
    "a right pair of check characters",
    lambda piece: len(piece) > 2 and check_pair(piece[:-2]) == piece[-2:],
)

CONTENTS: dict[str, Check] = {
    "prefix": _PREFIX,
    "pair": every(_PAIR, _PREFIX),
    "device": every(
        _PAIR, _PREFIX, simple("no_letter", "at least one letter", lambda p: not p.isdigit())
    ),
    "country": simple(
        "bad_country", "a country by ISO 3166", lambda p: p in code_lists.codes("country")
    ),
    "country999": simple(
        "bad_country",
        "a country by ISO 3166, or 999",
        lambda p: p in code_lists.codes("country") | PROCESSOR_ANYWHERE,
    ),
    "country2": simple(
        "bad_country",
        "two letters of a country by ISO 3166",
        lambda p: p in code_lists.codes("country_letters"),
    ),
    "currency": simple(
        "bad_currency", "a currency by ISO 4217", lambda p: p in code_lists.codes("currency")
    ),
    "media": simple("bad_media", "01 to 10 or 80 to 99", lambda p: p in code_lists.codes("media")),
    "package": simple(
        "bad_package", "a code of a kind of package", lambda p: p in code_lists.codes("package")
    ),
    "sex": simple("bad_sex", "0, 1, 2 or 9 by ISO 5218", lambda p: p in "0129"),
    "importer": simple("bad_index", "a letter, digit, - or _", lambda p: p in ALNUM + "-_"),
    "escapes": simple(
        "bad_escape", "two hexadecimal digits behind each %", lambda p: not ESCAPE.search(p)
    ),
    "latitude": simple("bad_coordinate", f"0 to {LATITUDE}", lambda p: int(p) <= LATITUDE),
    "longitude": simple("bad_coordinate", f"0 to {LONGITUDE}", lambda p: int(p) <= LONGITUDE),
    "of_total": simple("bad_position", "a place in a row such as 2/3", _is_of_total),
    "account": simple("bad_account", "a bank account by ISO 13616", _is_account),
    "coupon": raising(coupons.check),
    "offer": raising(coupons.check_offer),
}
"""By the name in the column `parts` of tables/gs1_identifiers.csv."""
