"""How a sheet speaks: its sentences, days and figures in the language that is set around it.

Serials, codes, names of things and people stay as they are, and so does all that is scanned.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

from django.utils import timezone
from django.utils.dateformat import format as written
from django.utils.translation import get_language, gettext

from inventory.templatetags import amounts

MARK: Final = {"de": ("j. M Y", "j. F Y"), "es": ("j M Y", r"j \d\e F \d\e Y")}
"""A day short and long, as Django's own formats of these languages have it: de, es (5.2)."""
ENGLISH: Final = ("j M Y", "j F Y")


def say(sentence: str, *with_: object) -> str:
    """A sentence of the catalogue with {0}, {1} ... filled in."""
    return gettext(sentence).format(*with_)


def day(when: date) -> str:
    """A day, short: "27 Nov 2026", "27. Nov. 2026"."""
    return written(when, _marks()[0])


def with_weekday(when: date) -> str:
    """A day, short, with its weekday: "Fri 27 Nov 2026", "Fr, 27. Nov. 2026"."""
    return f"{written(when, 'D')}{_comma()} {day(when)}"


def long_day(when: date) -> str:
    """A day with its weekday: "Friday 27 November 2026", "Freitag, 27. November 2026"."""
    return f"{written(when, 'l')}{_comma()} {written(when, _marks()[1])}"


def moment(when: datetime) -> str:
    """A day and a time of it, where the firm is."""
    at = timezone.localtime(when)
    return f"{day(at.date())} {at:%H:%M}"


def measure(quantity: int, unit: str) -> str:
    """A quantity in base units as people of the language write it: "7.25 m", "7,25 m"."""
    return amounts.amount(quantity, unit)


def of_item(quantity: int, unit: str, name: str) -> str:
    """A quantity with the name of its thing: "2 x wall bracket"."""
    return " ".join(filter(None, (measure(quantity, unit), amounts.joined(unit).strip(), name)))


def figure(number: float, digits: int | None = None) -> str:
    """A figure with the marks of the language. digits: behind the mark, None: as many as it has."""
    return amounts.marked(f"{number:g}" if digits is None else f"{number:.{digits}f}")


def starting(name: str) -> str:
    """A name that begins a line."""
    return name[:1].upper() + name[1:]


def _comma() -> str:
    return "" if _language() == "en" else ","


def _marks() -> tuple[str, str]:
    return MARK.get(_language(), ENGLISH)


def _language() -> str:
    return (get_language() or "en").partition("-")[0]
