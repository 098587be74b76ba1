"""Keyboard layouts: what a scanner set to one layout leaves behind on a computer set to another.

Only what a layout maps one to one is undone, and only where a device was paired (the context names
its layouts). Sources: axenox/onscan.js issue 15 (French digits), gazlaws-dev/codeboard issue 78
(German Y and Z), shaxxx/flutter_barcode_listener issue 34 (shift one key late); the rest of the
tables from memory of the ISO/IEC 9995 national layouts.
"""

import re

# Keys of the US layout, unshifted then shifted, without dead keys; the same keys elsewhere.
US = "1234567890-qwertyuiop[asdfghjkl;'zxcvbnm,./" + '!@#$%^&*()_QWERTYUIOP{ASDFGHJKL:"ZXCVBNM<>?'
FRENCH = (
    "&é\"'(-è_çà)azertyuiop\0qsdfghjklmùwxcvbn,;:!" + "1234567890°AZERTYUIOP\0QSDFGHJKLM%WXCVBN?./§"
)
GERMAN = (
    "1234567890ßqwertzuiopüasdfghjklöäyxcvbnm,.-" + '!"§$%&/()=?QWERTZUIOPÜASDFGHJKLÖÄYXCVBNM;:_'
)
BRITISH = (
    "1234567890-qwertyuiop[asdfghjkl;'zxcvbnm,./" + '!"£$%^&*()_QWERTYUIOP{ASDFGHJKL:@ZXCVBNM<>?'
)
ITALIAN = (
    "1234567890'qwertyuiopèasdfghjklòàzxcvbnm,.-" + '!"£$%&/()=?QWERTYUIOPéASDFGHJKLç°ZXCVBNM;:_'
)
HOSTS = {"FR": FRENCH, "DE": GERMAN, "UK": BRITISH, "GB": BRITISH, "IT": ITALIAN}

SHIFTED_US = str.maketrans("!@#$%^&*()_", "1234567890-")
FRENCH_DIGITS = frozenset("&é\"'(-è_çà")


def undo(text: str, host: str, scanner: str = "US") -> tuple[str, str]:
    """Return what a US-set scanner read, and a warning; ("", "") where nothing is undone.

    `host` such as "DE QWERTZ": its first word names the layout.
    """
    name = host.partition(" ")[0].upper()
    layout = HOSTS.get(name)
    if layout is None or scanner.partition(" ")[0].upper() != "US":
        return "", ""
    back = {there: here for here, there in zip(US, layout, strict=True) if there != "\0"}
    if any(char not in back and char >= " " for char in text):
        return "", ""
    meant = "".join(back.get(char, char) for char in text)
    if meant == text:
        return "", ""
    digits = name == "FR" and set(text) <= FRENCH_DIGITS
    return meant, "layout_fr_unshifted_digits" if digits else f"layout_{name.lower()}"


def late_shift(text: str) -> str:
    """Return what was meant where shift lagged one key (`#$` for `34`), or an empty text."""
    if not re.search("[!@#$%^&*()]", text):
        return ""
    meant = text.translate(SHIFTED_US).upper()
    return meant if re.fullmatch("[0-9A-Z-]+", meant) else ""
