"""The one normal form in which serials and lots are compared, and the phone's look-up key.

Two serials are equal when `key` gives the same text. The raw text is kept beside it, always.
"""

import re
import unicodedata

from inventory.codes import own
from inventory.codes.errors import CodeError

LONGEST = 90
"""Characters of a serial; GS1 allows 20 to 90 by identifier, plates and portals no more."""

ENDS = " \t\r\n\x1d\xa0"
"""What a scanner, a copied cell or a trailing separator leaves at the ends."""

BLANKS = str.maketrans("", "", " \xa0")
INVISIBLE = re.compile(
    "[\u00ad\u034f\u061c\u115f\u180e\u200b-\u200f\u2028-\u202f\u2060-\u206f\ufeff]"
)
DASHES = re.compile("[\u2010-\u2015\u2212\ufe58\ufe63\uff0d]")

# Cyrillic and Greek capitals and small letters drawn like Latin ones (the common ones).
ALIKE = str.maketrans(
    "АВСЕНІЈКМОРЅТХУЗасеорхуіѕј" + "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧο",  # noqa: RUF001
    "ABCEHIJKMOPSTXY3aceopxyisj" + "ABEZHIKMNOPTYXo",
)


def key(serial: str) -> str:
    """Return the normal form of a serial or lot: printable ASCII without blanks, case kept.

    Raises CodeError: empty_value, too_long, illegal_character, look_alike (with the text that
    may have been meant). NFKC alone is not enough: it would leave Cyrillic letters and dashes
    apart and make full-width digits equal, so whatever is not ASCII is a question.
    """
    text = unicodedata.normalize("NFC", serial.strip(ENDS)).translate(BLANKS)
    if not text:
        raise CodeError("empty_value", "expected a serial, got nothing")
    if len(text) > LONGEST:
        raise CodeError(
            "too_long", f"expected a serial of at most {LONGEST} characters, got {len(text)}"
        )
    if text.isascii() and text.isprintable():
        return text
    meant = plain_twin(text)
    if meant:
        message = f"expected plain letters, digits and dashes, got look-alikes of {meant!r}"
        raise CodeError("look_alike", message, [meant])
    raise CodeError("illegal_character", f"expected plain ASCII characters, got {text[:40]!r}")


def plain_twin(text: str) -> str:
    """Return the ASCII text that looks the same, or an empty text where there is none."""
    twin = unicodedata.normalize("NFKC", INVISIBLE.sub("", text)).translate(ALIKE)
    twin = DASHES.sub("-", twin).translate(BLANKS)
    return twin if twin != text and twin.isascii() and twin.isprintable() else ""


def look_up_key(text: str) -> str:
    """Return what a phone looks a scan up by: no parsing, the same ten lines on server and phone.

    Marks of the symbol and control characters go, an article number becomes 14 digits, our own
    label capitals. Shared vectors: tests/codes/lookup_vectors.json.
    """
    short = re.sub("[\x00-\x1f\x7f]", "", text).strip(" ")
    short = re.sub("^\\][A-Za-z][0-9A-Za-z]", "", short)
    if re.fullmatch("[0-9]{8}|[0-9]{12,14}", short):
        return short.rjust(14, "0")
    folded = short.upper() if short.isascii() else short
    return folded if own.looks_own(folded) and len(folded) == own.LENGTH else short
