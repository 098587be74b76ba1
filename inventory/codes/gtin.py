"""Article numbers: every EAN, UPC and ITF-14 in one normal form of 14 digits.

Sources: GS1 General Specifications 7.9 (check digit), 5.2.2.4 (expanding UPC-E), 2.1.11 and
2.1.12 (prefixes for use inside a company or region).

>>> normal("9520123456788")
'09520123456788'
>>> expand_upc_e("04256212")
'042100005622'
"""

from inventory.codes.characters import is_digits
from inventory.codes.check_digits import is_checked
from inventory.codes.errors import CodeError

LENGTHS = (8, 12, 13, 14)

RESTRICTED = ("02", "04", *(str(n) for n in range(20, 30)))
"""First two digits of 13 that mean nothing outside one company or region."""


def normal(number: str) -> str:
    """Return 8, 12, 13 or 14 digits as 14. Raises CodeError wrong_length, check_digit."""
    if not is_digits(number) or len(number) not in LENGTHS:
        raise CodeError("wrong_length", f"expected 8, 12, 13 or 14 digits, got {number[:40]!r}")
    if not is_checked(number):
        raise CodeError("check_digit", f"expected a right check digit, got {number}")
    return number.zfill(14)


def is_valid(number: str) -> bool:
    """Whether `normal` takes the number."""
    return is_digits(number) and len(number) in LENGTHS and is_checked(number)


def expand_upc_e(number: str) -> str:
    """Return the 12 digits that 8 digits of a UPC-E symbol stand for.

    Raises CodeError wrong_length, bad_number_system, check_digit (judged after expanding).
    """
    if not is_digits(number) or len(number) != 8:
        raise CodeError("wrong_length", f"expected 8 digits, got {number[:40]!r}")
    if number[0] not in "01":
        raise CodeError("bad_number_system", f"expected 0 or 1 in front, got {number}")
    a, b, c, d, e, last = tuple(number[1:7])
    if last in "012":
        stem = f"{a}{b}{last}0000{c}{d}{e}"
    elif last == "3":
        stem = f"{a}{b}{c}00000{d}{e}"
    elif last == "4":
        stem = f"{a}{b}{c}{d}00000{e}"
    else:
        stem = f"{a}{b}{c}{d}{e}0000{last}"
    whole = number[0] + stem + number[7]
    if not is_checked(whole):
        raise CodeError("check_digit", f"expected a right check digit, got {number}")
    return whole


def is_restricted(gtin: str) -> bool:
    """Whether 14 digits carry a prefix of restricted circulation: not unique outside one firm."""
    return gtin[0] == "0" and gtin[1:3] in RESTRICTED and not gtin.startswith("000000")
