"""ISO/IEC 15434 messages: `[)>` RS, formats, EOT. Formats 05 (GS1) and 06 (data identifiers).

Source: ISO/IEC 15434 as told in reference/codes.md section 3 (ours). What a scanner dropped at
the ends is forgiven with a warning, a lost separator between two elements never is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.codes import data_identifiers, element_strings
from inventory.codes.associations import Elements
from inventory.codes.characters import EOT, GS, RS
from inventory.codes.errors import CodeError

HEADER = "[)>"
TOKENS = {"<RS>": RS, "{RS}": RS, "<GS>": GS, "{GS}": GS, "<EOT>": EOT, "{EOT}": EOT}
PICTURES = {"\u241d": GS, "\u241e": RS, "\u2404": EOT}
BARE = {"^": RS, "]": GS}
"""Ctrl+^ and Ctrl+] whose Ctrl was lost."""


@dataclass(frozen=True, slots=True)
class Message:
    """The formats of one message."""

    formats: tuple[tuple[str, Elements], ...]  # ("06", (("1P", "ABC-1"), ...))
    warnings: tuple[str, ...]


def is_message(text: str) -> bool:
    """Whether the text starts like a message."""
    return text.startswith(HEADER)


def parse(text: str) -> Message:
    """Return the message. Raises CodeError with the kinds of the vectors."""
    text, warnings = _with_controls(text)
    body = text[len(HEADER) :]
    if not body.startswith(RS):
        if GS not in body:
            raise CodeError("separators_lost", "expected separators in the message, got none")
        warnings.append("missing_rs")
    body = body.removeprefix(RS)
    if not body.endswith(EOT):
        warnings.append("missing_eot")
    body = body.removesuffix(EOT)
    if not body.endswith(RS):
        warnings.append("missing_format_trailer")
    parts = body.removesuffix(RS).split(RS)
    formats = tuple(_format(part) for part in parts)
    warnings += _repeats(formats)
    return Message(formats, tuple(warnings))


def bare(text: str) -> Message:
    """Return one data identifier in a symbol of its own; only for labels known to use them."""
    return Message((("bare", (data_identifiers.parse(text),)),), ())


def with_bare_controls(text: str) -> str:
    """Return the message that was meant where Ctrl was lost, or an empty text."""
    if not text.startswith(HEADER + "^") or GS in text or RS in text:
        return ""
    for typed, control in BARE.items():
        text = text.replace(typed, control)
    # The `]` of a symbology identifier never gets here; the header's own `)` is not touched.
    return text + (EOT if text.endswith(RS) else "")


def _with_controls(text: str) -> tuple[str, list[str]]:
    replaced = text
    for token, control in (TOKENS | PICTURES).items():
        replaced = replaced.replace(token, control)
    return replaced, ["text_tokens_replaced"] if replaced != text else []


def _format(part: str) -> tuple[str, Elements]:
    indicator, separator, data = part.partition(GS)
    if indicator not in ("05", "06"):
        if len(indicator) > 2 and indicator[:2] in ("05", "06"):
            raise CodeError("separators_lost", f"expected a separator, got {indicator[:12]!r}")
        message = f"expected format 05 or 06, got {indicator[:12]!r}"
        raise CodeError("unsupported_format", message)
    if not separator or not data:
        raise CodeError("empty_data", f"expected elements in format {indicator}, got nothing")
    if indicator == "05":
        return indicator, element_strings.parse(data)
    return indicator, tuple(data_identifiers.parse(element) for element in data.split(GS))


def _repeats(formats: Sequence[tuple[str, Elements]]) -> list[str]:
    warnings = []
    for _, pairs in formats:
        seen: dict[str, str] = {}
        for code, value in pairs:
            if code in seen:
                warnings.append("repeated_same_value")
            if seen.setdefault(code, value) != value:
                message = f"expected {code} once, got {seen[code]!r} and {value!r}"
                raise CodeError("repeat_conflict", message)
    return warnings
