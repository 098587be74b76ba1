"""A text of digits only: an article number, a container code, an element string, or nothing.

Bare digits are ambiguous (9520123456788 is an article number and a legal element (95)): the exact
length with a right check digit decides first. Source: order of reference/codes.md section 0 (ours).
"""

from collections.abc import Sequence

from inventory.codes import gs1_reading, gtin, identifiers
from inventory.codes.answer import Reading
from inventory.codes.check_digits import is_checked
from inventory.codes.errors import CodeError
from inventory.codes.request import Request

EXACT = (8, 12, 13, 14, 18)
PAIRING = ("unknown_ai", "missing_required", "mutually_exclusive", "separator_suspect")
SHORTEST, LONGEST = 7, 19
"""Between these a wrong length of an article number is likelier than an unknown identifier."""


def read(request: Request, digits: str) -> Reading:
    """Return the reading of digits. Raises CodeError."""
    symbology = request.asks("symbology")
    if symbology == "UPC-E":
        return article(request, gtin.expand_upc_e(digits), digits)
    if symbology == "ITF":
        return itf(request, digits)
    if len(digits) == 8:
        return _eight(request, digits, symbology)
    if len(digits) in gtin.LENGTHS and is_checked(digits):
        return article(request, digits, digits)
    if len(digits) == 18 and is_checked(digits):
        return Reading("sscc", digits, {"sscc": digits}, (("00", digits),))
    return _elements(request, digits)


def article(request: Request, number: str, text: str, warnings: Sequence[str] = ()) -> Reading:
    """Return the reading of an article number in any length. Raises CodeError."""
    whole = gtin.normal(number)
    odd = ("restricted_circulation",) if gtin.is_restricted(whole) else ()
    return Reading("gtin", text, {"gtin": whole}, (("01", whole),), (), (*warnings, *odd))


def itf(request: Request, digits: str) -> Reading:
    """Return the reading of an ITF symbol: 14 digits, or nothing (part of a symbol reads too)."""
    if len(digits) != 14:
        raise CodeError("wrong_length", f"expected 14 digits in an ITF symbol, got {digits[:40]!r}")
    return article(request, digits, digits)


def _eight(request: Request, digits: str, symbology: str) -> Reading:
    options = [digits] if is_checked(digits) else []
    if symbology != "EAN-8":
        options += _expanded(digits)
    chosen = [option for option in options if request.known.names(option)]
    if len(options) > 1 and len(chosen) != 1:
        message = f"expected a code that says EAN-8 or UPC-E, got {digits}, which may be either"
        raise CodeError("gtin8_or_upce", message, [option.zfill(14) for option in options])
    options = chosen or options
    if not options:
        return _elements(request, digits)
    expanded = options[0] != digits
    return article(request, options[0], digits, ("upc_e_expanded",) if expanded else ())


def _expanded(digits: str) -> list[str]:
    try:
        return [gtin.expand_upc_e(digits)]
    except CodeError:
        return []


def _elements(request: Request, digits: str) -> Reading:
    exact = len(digits) in EXACT
    try:
        reading = gs1_reading.of_text(request, digits)
    except CodeError as error:
        if exact and (len(digits) > 8 or error.kind in PAIRING):
            raise _bad_check(digits) from error
        strange = identifiers.at(digits, 0) is None
        if error.kind == "unknown_ai" and strange and SHORTEST <= len(digits) <= LONGEST:
            message = f"expected 8, 12, 13, 14 or 18 digits, got {len(digits)}: {digits}"
            raise CodeError("wrong_length", message) from error
        raise
    if any(identifiers.table()[code].is_key for code, _ in reading.elements):
        return reading
    if exact:
        raise _bad_check(digits)
    if digits.startswith("99"):
        # python-barcode drops a leading 99 of a Code 128 text: 999999 is printed as 9999.
        message = f"expected no code that starts with 99, got {digits}: print the label again"
        raise CodeError("generator_bug", message)
    raise CodeError("check_or_length_fails", f"expected a number with a check digit, got {digits}")


def _bad_check(digits: str) -> CodeError:
    return CodeError("check_digit", f"expected a right check digit, got {digits}")
