"""GS1 Digital Link: a web address that carries elements. Parsed, never fetched.

Source: GS1 Digital Link Standard, URI Syntax, as told in reference/codes.md section 2 (ours);
keys, qualifiers and attributes by tables/gs1_identifiers.csv.

>>> parse("https://example.com/01/09520123456788/21/A1").elements
(('01', '09520123456788'), ('21', 'A1'))
"""

import re
from dataclasses import dataclass
from urllib.parse import unquote, unquote_plus, urlsplit

from inventory.codes import gtin, value_checks
from inventory.codes.associations import Elements
from inventory.codes.characters import is_digits
from inventory.codes.errors import CodeError
from inventory.codes.identifiers import Identifier, table

SCHEME = re.compile(r"([A-Za-z][A-Za-z0-9+.\-]*)://")


@dataclass(frozen=True, slots=True)
class Link:
    """The elements of an address."""

    elements: Elements  # key, qualifiers, then attributes of the query in their order
    warnings: tuple[str, ...]


def is_address(text: str) -> bool:
    """Whether the text has the form scheme://..."""
    return SCHEME.match(text) is not None


def parse(address: str) -> Link:
    """Return the elements of a Digital Link.

    Raises CodeError bad_scheme, no_key, empty_value, qualifier_order, qualifier_in_query,
    not_an_attribute, duplicate_ai, unknown_ai, and the kinds of value_checks.
    """
    scheme = SCHEME.match(address)
    if scheme is None or scheme[1] not in ("http", "https", "HTTP", "HTTPS"):
        got = scheme[1] if scheme else address[:12]
        raise CodeError("bad_scheme", f"expected http or https in one case, got {got!r}")
    path, query = _split(address)
    pairs = _key_and_qualifiers(path)
    codes = [code for code, _ in pairs]
    if twice := next((code for code in codes if codes.count(code) > 1), ""):
        raise CodeError("duplicate_ai", f"expected ({twice}) once in the address, got it twice")
    sequences = _sequences(table()[codes[0]], codes[1:])
    pairs += _attributes(query, codes, sequences)
    warnings: list[str] = []
    elements = tuple((code, _value(code, raw, warnings)) for code, raw in pairs)
    return Link(elements, tuple(warnings))


def _split(address: str) -> tuple[list[str], str]:
    try:
        parts = urlsplit(address)
    except ValueError as error:
        raise CodeError("no_key", f"expected a web address, got {error}") from error
    return parts.path.split("/")[1:], parts.query


def _key_and_qualifiers(path: list[str]) -> list[tuple[str, str]]:
    """Return (key, value), (qualifier, value)...: the rightmost segment that is a key leads."""
    for start in range(len(path) - 2, -1, -1):
        if (len(path) - start) % 2 == 0 and _is_key(path[start]):
            heads, values = path[start::2], path[start + 1 :: 2]
            if all(head in table() for head in heads):
                return [(h, unquote(v)) for h, v in zip(heads, values, strict=True)]
    raise CodeError("no_key", "expected /01/... or another GS1 key in the path, got none")


def _is_key(segment: str) -> bool:
    identifier = table().get(segment)
    return identifier is not None and identifier.is_key


def _sequences(key: Identifier, taken: list[str]) -> tuple[tuple[str, ...], ...]:
    """Return the allowed sequences of qualifiers that the path's qualifiers follow."""
    fitting = tuple(s for s in key.qualifiers if [code for code in s if code in taken] == taken)
    if taken and not fitting:
        allowed = " or ".join(", ".join(s) for s in key.qualifiers) or "nothing"
        message = f"expected {allowed} behind ({key.code}), got {', '.join(taken)}"
        raise CodeError("qualifier_order", message)
    return fitting


def _attributes(
    query: str, path_codes: list[str], sequences: tuple[tuple[str, ...], ...]
) -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    for part in re.split("[&;]", query):
        name, _, raw = part.partition("=")
        if not is_digits(name):
            continue  # other names are the address owner's business
        if name not in table():
            raise CodeError("unknown_ai", f"expected a GS1 identifier in the query, got {name}")
        if name in (*path_codes, *(code for code, _ in pairs)):
            raise CodeError("duplicate_ai", f"expected ({name}) once in the address, got it twice")
        if any(name in sequence for sequence in sequences):
            raise CodeError("qualifier_in_query", f"expected ({name}) in the path, got it behind ?")
        if not table()[name].attribute:
            raise CodeError("not_an_attribute", f"expected no ({name}) in the query, got one")
        pairs.append((name, unquote_plus(raw)))
    return pairs


def _value(code: str, value: str, warnings: list[str]) -> str:
    if not value:
        raise CodeError("empty_value", f"expected a value behind ({code}), got nothing")
    if code in ("01", "02") and len(value) in (8, 12, 13) and gtin.is_valid(value):
        warnings.append(f"gtin_{len(value)}_padded")
        value = value.zfill(14)
    value_checks.check(table()[code], value)
    return value
