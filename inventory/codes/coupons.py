"""The digits inside coupon codes (8110) and (8112): lengths told in front, then the fields.

Source: facts of the linters couponcode and couponposoffer of the GS1 Barcode Syntax Dictionary,
which follow the North American coupon guideline. We never redeem one; a text that cannot be a
coupon shows that a label was read wrong.
"""

from collections.abc import Callable

from inventory.codes import dates
from inventory.codes.characters import is_digits
from inventory.codes.errors import CodeError

PREFIX = {str(n): n + 6 for n in range(7)}  # length told -> digits of a company prefix
VALUE = {str(n): n for n in range(1, 6)}
SERIAL = {str(n): n + 6 for n in range(10)}
RETAILER = {str(n): n + 6 for n in range(1, 8)}
NEED, OFFER, FAMILY = "012349", 6, 3
ANY_YEAR = 2000


class _Digits:
    """What is left of a coupon; each step takes from the front or raises CodeError."""

    def __init__(self, text: str) -> None:
        self.left = text

    def take(self, count: int, what: str) -> str:
        taken, self.left = self.left[:count], self.left[count:]
        if len(taken) < count or (count and not is_digits(taken)):
            raise CodeError("bad_coupon", f"{count} digits of {what}, got {taken!r}")
        return taken

    def one_of(self, allowed: str, what: str) -> str:
        digit = self.take(1, what)
        if digit not in allowed:
            raise CodeError("bad_coupon", f"{what} out of {allowed}, got {digit}")
        return digit

    def told(self, lengths: dict[str, int], what: str) -> str:
        return self.take(lengths[self.one_of("".join(lengths), f"the length of {what}")], what)

    def starts(self, mark: str) -> bool:
        """Whether an optional field follows; its mark is taken."""
        found = self.left.startswith(mark)
        self.left = self.left[1:] if found else self.left
        return found


def check(text: str) -> None:
    """Judge a value of (8110). Raises CodeError bad_coupon, bad_month, bad_day."""
    digits = _Digits(text)
    digits.told(PREFIX, "the company prefix")
    digits.take(OFFER, "the offer")
    digits.told(VALUE, "the saving")
    _purchase(digits)
    for mark, read in OPTIONAL.items():
        if digits.starts(mark):
            read(digits)
    _dates(digits)
    for mark, read in LAST.items():
        if digits.starts(mark):
            read(digits)
    _end(digits)


def check_offer(text: str) -> None:
    """Judge a value of (8112). Raises CodeError bad_coupon."""
    digits = _Digits(text)
    digits.one_of("01", "the format")
    digits.told(PREFIX, "the funder")
    digits.take(OFFER, "the offer")
    digits.told(SERIAL, "the serial")
    _end(digits)


def _purchase(digits: _Digits) -> None:
    digits.told(VALUE, "the purchase")
    digits.one_of(NEED, "the kind of purchase")
    digits.take(FAMILY, "the family")


def _further(digits: _Digits) -> None:
    _purchase(digits)
    digits.told({**PREFIX, "9": 0}, "the company prefix")


def _second(digits: _Digits) -> None:
    digits.one_of("0123", "the rule of further purchases")
    _further(digits)


def _dates(digits: _Digits) -> None:
    told = [digits.take(6, "the date") for mark in "34" if digits.starts(mark)]
    for date in told:
        dates.six_digits(date, ANY_YEAR)
    if len(told) == 2 and told[1] > told[0]:
        raise CodeError("bad_coupon", f"a start no later than {told[0]}, got {told[1]}")


def _other(digits: _Digits) -> None:
    digits.one_of("01256", "the kind of saving")
    digits.one_of("012", "the item saved on")
    digits.take(1, "the store's mark")
    digits.one_of("01", "the mark of no doubling")


def _end(digits: _Digits) -> None:
    if digits.left:
        raise CodeError("bad_coupon", f"nothing behind the last field, got {digits.left!r}")


OPTIONAL: dict[str, Callable[[_Digits], object]] = {"1": _second, "2": _further}
LAST: dict[str, Callable[[_Digits], object]] = {
    "5": lambda digits: digits.told(SERIAL, "the serial"),
    "6": lambda digits: digits.told(RETAILER, "the retailer"),
    "9": _other,
}
