"""Text of a code -> every reading of it, or a named refusal.

    read(text, via, known, context) -> Answer

Pure and cheap (about 0.1 ms for an ordinary label, at most 0.1 s for a hostile one); it never
raises and never guesses. The order: symbology identifier, `[)>` message, web address (parsed,
never fetched), digits of exact length with a right check digit, our own label, element string,
label profile, known text. What no scheme claims is refused, unless `known` names exactly that
text.

via      keys: a hand scanner that types; leading controls and trailing CR, LF, Tab are stripped,
         and several scans in one burst come apart. paired: one that was set up, so the separators
         in its text are those of the code. symbol: data of a decoded symbol, every
         character counts. hand: typed by a person, blanks at the ends go. Empty: nobody says;
         nothing is stripped and separators are not trusted.
known    `known.Known`: what the catalogue knows. Only an exact match of the normal form counts;
         near misses become candidates of a refusal, that is a question.
context  separator (what a paired device sends for GS), scanner_layout and host_layout ("US",
         "DE QWERTZ"), symbology ("UPC-E", "EAN-8", "ITF", "Code 128"), identifiers ("DI": this
         label uses data identifiers), rule ("own labels are upper case only"), kind ("article":
         the same code twice asks for a quantity), year (of now, for tests). Others are ignored.

A lost separator: without a group separator in the text, and without a device known to send it
(via symbol or paired, or a separator in the context), a value that may hide a further element is
refused as `separator_suspect` with the candidates.
"""

from dataclasses import replace

from inventory.codes import (
    cleaning,
    data_identifiers,
    digit_reading,
    digital_link,
    element_strings,
    fields,
    gs1_reading,
    iso15434,
    layouts,
    own,
    serials,
    symbology,
)
from inventory.codes.answer import Answer, Context, Reading, Refused
from inventory.codes.characters import CSET82, GS, first_outside, is_digits
from inventory.codes.errors import Candidate, CodeError
from inventory.codes.known import NOTHING, Known
from inventory.codes.request import Request
from inventory.codes.symbology import Carrier, Scan

CLAIMED_BY_NONE = "expected a code of a known scheme or a known text"
LONGEST = 7089
"""Characters: the most digits that a QR symbol holds (ISO/IEC 18004)."""

LOOSE_OWN = str.maketrans("OQI", "001")
OWN_RULE = "own labels are upper case only"


def read(
    text: str, via: str = "", known: Known = NOTHING, context: Context | None = None
) -> Answer:
    """Return the answer: readings, or why there is none. Raises nothing."""
    cleaned = cleaning.strip(text, via)
    request = Request(cleaned, via, known, context or {})
    try:
        return Answer(text, _burst(request), None)
    except CodeError as error:
        return Answer(text, (), Refused(error.kind, error.message, error.candidates))


def _burst(request: Request) -> tuple[Reading, ...]:
    if not request.text:
        raise CodeError("empty_data", "expected a code, got nothing")
    if len(request.text) > LONGEST:
        message = f"expected at most {LONGEST} characters, got {len(request.text)}"
        raise CodeError("too_long", message)
    parts = cleaning.scans(request.text, request.via)
    if len(parts) == 1:
        return _one(request)
    warnings: tuple[str, ...] = ("several_scans",)
    if request.asks("kind") == "article" and len(set(parts)) == 1:
        warnings += ("ask_quantity",)
    try:
        found = [reading for part in parts for reading in _one(request.instead(part))]
    except CodeError as error:
        message = f"expected one code, got {len(parts)} in one burst: {error.message}"
        raise CodeError("several_scans", message, parts) from error
    return tuple(replace(reading, warnings=reading.warnings + warnings) for reading in found)


def _one(request: Request) -> tuple[Reading, ...]:
    try:
        scan = symbology.parse(request.text)
    except CodeError:
        named = _named(request, symbology.Scan("", Carrier.UNKNOWN, request.text))
        if named:
            return named
        raise
    try:
        reading = _by_scheme(request, scan)
    except CodeError as error:
        return _without_scheme(request, scan, error)
    if reading.kind == "gs1" and not scan.identifier and "gtin" not in reading.fields:
        # A plain serial such as 400123 is also a legal element: both are shown.
        return (reading, *_named(request, scan))
    return (reading,)


def _without_scheme(request: Request, scan: Scan, error: CodeError) -> tuple[Reading, ...]:
    """Return what the catalogue or a paired keyboard makes of it; raises the question."""
    named = _named(request, scan)
    if named:
        return named
    meant, warning = layouts.undo(
        scan.text, request.asks("host_layout"), request.asks("scanner_layout") or "US"
    )
    if meant:
        bare = {k: v for k, v in request.context.items() if k != "host_layout"}
        answer = read(meant, request.via, request.known, bare)
        if answer.readings:
            return tuple(replace(r, warnings=(*r.warnings, warning)) for r in answer.readings)
    raise _question(request, scan, error, [meant] if meant else [])


def _by_scheme(request: Request, scan: Scan) -> Reading:
    text = scan.text
    if scan.carrier is Carrier.ELEMENTS:
        return gs1_reading.of_text(request, text)
    if scan.carrier is Carrier.ARTICLE:
        return digit_reading.article(request, text[:13], text[:13])
    if scan.carrier is Carrier.ARTICLE_8:
        return digit_reading.article(request, text[:8], text[:8])
    if scan.carrier is Carrier.ITF:
        return digit_reading.itf(request, text)
    if iso15434.is_message(text):
        return _message(request, text)
    if digital_link.is_address(text):
        link = digital_link.parse(text)
        return gs1_reading.of_elements(
            request.instead(text), link.elements, link.warnings, "digital_link"
        )
    if request.asks("identifiers") == "DI" and data_identifiers.HEAD.match(text):
        return _formats(request, text, "data_identifier", iso15434.bare(text))
    if is_digits(text) and scan.carrier is Carrier.UNKNOWN:
        return digit_reading.read(request, text)
    return _by_look(request, scan)


def _by_look(request: Request, scan: Scan) -> Reading:
    text = scan.text
    typed = text.replace(" ", "") if request.via == "hand" else text
    if own.looks_own(typed):
        return _own(typed)
    if text[:1] == "(" and text[1:2].isdigit():
        return gs1_reading.of_brackets(request.instead(text))
    spelled = cleaning.with_separators(text, request.asks("separator"))[0].removeprefix(GS)
    if is_digits(spelled[:2]):
        if scan.carrier is Carrier.PLAIN:
            return _in_plain_symbol(request, text)
        return gs1_reading.of_text(request, text)
    raise _unclaimed(text)


def _in_plain_symbol(request: Request, text: str) -> Reading:
    """Return an article number, or refuse: a plain symbol carries no element strings."""
    if is_digits(text) and len(text) in digit_reading.EXACT:
        return digit_reading.read(request, text)
    try:
        element_strings.parse(text)
    except CodeError as error:
        raise _unclaimed(text) from error
    message = "expected a symbol marked as GS1 around element strings, got a plain one"
    raise CodeError("not_gs1_symbol", message)


def _message(request: Request, text: str) -> Reading:
    meant = iso15434.with_bare_controls(text)
    if meant and request.asks("separator") != "]":
        message = "expected control characters, got ^ and ]: pair the scanner, or use the camera"
        raise CodeError("separator_suspect", message, [meant])
    reading = _formats(request, text, "iso15434", iso15434.parse(meant or text))
    if meant:
        reading = replace(reading, text=meant, warnings=(*reading.warnings, "control_keys_bare"))
    return reading


def _formats(request: Request, text: str, kind: str, message: iso15434.Message) -> Reading:
    found: dict[str, str | int] = {}
    warnings = message.warnings
    for indicator, pairs in message.formats:
        if indicator == "05":
            # Its key may stand in another format, so pairing is not judged.
            found.update(fields.of_elements(pairs, request.year))
        else:
            found.update(data_identifiers.fields(pairs, request.year))
    return Reading(kind, text, found, (), message.formats, warnings)


def _own(text: str) -> Reading:
    try:
        label = own.parse(text)
    except CodeError as error:
        meant = text.upper().translate(LOOSE_OWN)
        near = [meant] if own.is_valid(meant) else []
        raise CodeError(error.kind, error.message, near) from error
    warnings = () if label.text == text else ("case_inverted",)
    found: dict[str, str | int] = {"own_kind": label.kind, "own_number": label.number}
    return Reading("own", label.text, found, (), (), warnings)


def _named(request: Request, scan: Scan) -> tuple[Reading, ...]:
    """Return what label profiles and the catalogue make of exactly this text."""
    readings, text = [], scan.text
    carrier = request.asks("symbology") or symbology.name(scan.identifier)
    for profile in request.known.profiles:
        found = profile.read(text, carrier)
        if found:
            readings.append(Reading("label", text, dict(found), (), (), (f"label:{profile.name}",)))
    if request.known.names(text):
        readings.append(Reading("known", text))
    elif request.asks("rule") == OWN_RULE and request.known.names(text.upper()):
        readings.append(Reading("known", text.upper(), {}, (), (), ("case_inverted",)))
    return tuple(readings)


def _unclaimed(text: str) -> CodeError:
    strange = first_outside(text, CSET82)
    if not strange:
        return CodeError("check_or_length_fails", f"{CLAIMED_BY_NONE}, got {text[:40]!r}")
    message = f"expected characters of a code, got {strange!r}"
    near = [near for near in (layouts.late_shift(text), serials.plain_twin(text)) if near]
    return CodeError("illegal_character", message, near)


def _question(request: Request, scan: Scan, error: CodeError, meant: list[str]) -> CodeError:
    """Return the refusal with everything near that is known; nearness is never an answer."""
    near = list(request.known.near(scan.text))
    kind = error.kind
    if near and kind == "check_or_length_fails":
        same = any(text.lower() == scan.text.lower() for text in near)
        kind = "case_suspect" if same else "near_miss"
    candidates: list[Candidate] = [*error.candidates, *meant, *near]
    return CodeError(kind, error.message, list(dict.fromkeys(candidates)))
