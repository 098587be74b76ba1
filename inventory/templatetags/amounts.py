"""How quantities and places are written on pages."""

from collections.abc import Iterable

from django import template
from django.utils.translation import get_language, gettext

from inventory import words
from inventory.models import Item, Place

GRAMS = 1000  # in a kilogram
DAY = 24  # hours

register = template.Library()

# Marks after resolution 10 of the 22nd CGPM (2003): a comma, and digits in threes with a space
# between. English pages keep what the firm's papers and files have.
MARKS = str.maketrans({",": "\u202f", ".": ","})


def marked(figure: str) -> str:
    """A figure with the marks of the page's language."""
    english = (get_language() or "en").startswith("en")
    return figure if english else figure.translate(MARKS)


@register.filter
def amount(quantity: int, unit: str) -> str:
    """A quantity in base units as people say it: "7.25 m", on a German page "7,25 m"."""
    return marked(words.measure(quantity, unit))


@register.filter
def joined(unit: str) -> str:
    """The word between a quantity and a name: "x", or "of" for a length."""
    return gettext(words.joined(unit))


@register.filter
def of_item(quantity: int, item: Item) -> str:
    """A quantity with its item: "2 x wall bracket"."""
    parts = amount(quantity, item.unit), joined(item.unit).strip(), item.name
    return " ".join(filter(None, parts))


@register.filter
def where(place: Place | None) -> str:
    """A place with what it stands in, innermost first: "Bag 3, Parcel 1, Van 2"."""
    return _names(place.way_up()) if place else gettext("nowhere yet")


@register.filter
def beside(place: Place) -> str:
    """A place with the one around it, as a list offers it: "Bin 1, Dock"."""
    return _names([place, *([place.parent] if place.parent else [])])


def _names(way: Iterable[Place]) -> str:
    """Names from the inside out; what the one before names already is not said twice."""
    told: list[str] = []
    for one in way:
        if not told or not told[-1].endswith(f" {one.name}"):
            told.append(one.name)
    return ", ".join(told)


@register.filter
def per_hundred(share: float) -> str:
    """A share of 1 as people count it: 0.957 is "95.7"; what is nearly all never reads as all."""
    return f"{min(share * 100, 99.9):.1f}" if share < 1 else "100"


@register.filter
def coin(cents: int) -> str:
    """An amount of the firm's money, as "12.50"."""
    return f"{cents // 100}.{cents % 100:02}"


@register.filter
def look_up(mapping: dict[str, object], key: str) -> object:
    """The value of a key that is itself a variable; nothing if absent."""
    return mapping.get(key)


@register.filter
def kilograms(grams: int) -> str:
    """A mass as people say it: "268 kg", "3.2 kg", "40 g"."""
    if grams < GRAMS:
        return f"{grams} g"
    return f"{grams / GRAMS:,.0f} kg" if grams >= 100 * GRAMS else f"{grams / GRAMS:.1f} kg"


@register.filter
def stretch(hours: int) -> str:
    """A time as people say it: "24 hours", "7 days"."""
    days, rest = divmod(hours, DAY)
    return f"{days} days" if days > 1 and not rest else f"{hours} hours"
