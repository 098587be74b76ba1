"""A made-up language for tests: all that the program says itself is drawn out and has no plain
letter, so that what nobody translated stands out, and what only just fits no longer does.

Two fifths longer is common practice, no source.
"""

import re

from django.utils.translation import trans_real

from tests.tree import TOP

LOCALE = TOP / "kitting" / "locale"
PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
ODD = "áƀčđéƒğħíĵķłḿñöƥɋřşŧüṽŵẋýžÁɃČĐÉƑĞĦÍĴĶŁḾÑÖƤɊŘŞŦÜṼŴẊÝŽ"
LETTERS = str.maketrans(PLAIN, ODD)
SLOTS = re.compile(r"(%\(\w+\)s|%%|\{\d\})")


def catalogue(language: str) -> dict[str, str]:
    """English -> the language, of the text file that people write."""
    found: dict[str, str] = {}
    text = (LOCALE / language / "LC_MESSAGES" / "django.po").read_text(encoding="utf-8")
    for block in text.split("\n\n")[1:]:
        parts = dict(re.findall(r'^(\w+(?:\[\d\])?) "(.*)"$', block, re.MULTILINE))
        parts = {key: re.sub(r'\\(["\\])', r"\1", words) for key, words in parts.items()}
        if "msgid" in parts:
            found[parts["msgid"]] = parts.get("msgstr") or parts.get("msgstr[0]", "")
        if "msgid_plural" in parts:
            found[parts["msgid_plural"]] = parts["msgstr[1]"]
    return found


def stretched(phrase: str) -> str:
    """A phrase in the made-up language; its slots are left alone."""
    parts = SLOTS.split(phrase)
    said = "".join(part if n % 2 else part.translate(LETTERS) for n, part in enumerate(parts))
    return said + "·" * (len(SLOTS.sub("", phrase)) * 2 // 5)


class Stretched(trans_real.DjangoTranslation):
    """German that says each phrase of the catalogue in the made-up language."""

    def __init__(self) -> None:
        """As Django makes it."""
        super().__init__("de")
        self.phrases = {*catalogue("de")}

    def gettext(self, message: str) -> str:
        """What is not in the catalogue is as ever: the days of the week."""
        return stretched(message) if message in self.phrases else str(super().gettext(message))

    def ngettext(self, one: str, many: str, number: int) -> str:
        """One of two phrases; what is not in the catalogue as Django has it."""
        phrase = one if number == 1 else many
        return (
            self.gettext(phrase)
            if phrase in self.phrases
            else str(super().ngettext(one, many, number))
        )
