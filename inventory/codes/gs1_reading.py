"""GS1 elements -> a reading, or the reason why a person must look.

Nothing is accepted that a dropped separator or an inverted case may have made.
Source: GS1 General Specifications 7.8; wedge cases w11, w12, w28 of the published threads.
"""

import re

from inventory.codes import (
    associations,
    brackets,
    element_strings,
    fields,
    gtin,
    lost_separators,
)
from inventory.codes.answer import Reading
from inventory.codes.associations import Elements
from inventory.codes.characters import GS
from inventory.codes.cleaning import with_separators
from inventory.codes.errors import CodeError
from inventory.codes.request import Request

CASED = ("10", "21", "235", "250")
INVERTED = re.compile("(?<![A-Za-z])[a-z][A-Z]+(?![A-Za-z])")


def of_text(request: Request, text: str) -> Reading:
    """Return the reading of an element string. Raises CodeError."""
    text, warnings = with_separators(text, request.asks("separator"))
    if text.startswith(GS):
        text = text[1:]
        warnings += ("leading_separator_stripped",)
    try:
        elements = element_strings.parse(text)
        reading = of_elements(request, elements, warnings)
    except CodeError as error:
        found = () if GS in text else lost_separators.candidates(text)
        raise CodeError(error.kind, error.message, found) from error
    _demand_separators(request, text, elements)
    _demand_case(request, elements)
    return reading


def of_brackets(request: Request) -> Reading:
    """Return the reading of `(01)...(21)...`. Raises CodeError."""
    elements = brackets.parse(request.text, strip=request.via == "hand")
    warnings = () if request.via == "hand" else ("generator_bug",)
    return of_elements(request, elements, warnings)


def of_elements(
    request: Request, elements: Elements, warnings: tuple[str, ...], kind: str = "gs1"
) -> Reading:
    """Return the reading of pairs after judging pairing and dates. Raises CodeError."""
    warnings += associations.check(elements)
    fields.dates_hold(elements, request.year)
    found = fields.of_elements(elements, request.year)
    if gtin.is_restricted(str(found.get("gtin", "1"))):
        warnings += ("restricted_circulation",)
    return Reading(kind, request.text, found, elements, (), warnings)


def _demand_separators(request: Request, text: str, elements: Elements) -> None:
    if request.known.names(elements[-1][1]):
        return
    found = lost_separators.hidden(elements)
    sent = GS in text or request.sends_separators
    if sent:
        found = tuple(c for c in found if lost_separators.is_strong(elements, c))
    if found:
        message = (
            "expected a separator between two elements, got none: the scanner may drop it. "
            "Scan with the camera, or set the scanner to send it"
        )
        raise CodeError("separator_suspect", message, found)


def _demand_case(request: Request, elements: Elements) -> None:
    """Refuse `sN0001` that came through a keyboard: Caps Lock makes it of `Sn0001`."""
    for i, (code, value) in enumerate(elements):
        if code not in CASED or request.via == "symbol" or request.known.names(value):
            continue
        other = [near for near in request.known.near(value) if near.lower() == value.lower()]
        if INVERTED.search(value) and not other:
            other = [value.swapcase()]
        if other:
            found = [(*elements[:i], (code, o), *elements[i + 1 :]) for o in other]
            message = f"expected capitals as printed, got {value!r}: is Caps Lock on?"
            raise CodeError("case_suspect", message, found)
