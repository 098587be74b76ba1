"""How quantities and places are written on pages."""

from collections.abc import Iterable

from django import template

from inventory.models import Place
from inventory.words import amount, joined, measure

GRAMS = 1000  # in a kilogram
DAY = 24  # hours

register = template.Library()

register.filter("amount", measure)
register.filter("of_item", amount)
register.filter("joined", joined)


@register.filter
def where(place: Place | None) -> str:
    """A place with what it stands in, innermost first: "Bag 3, Parcel 1, Van 2"."""
    return _names(place.way_up()) if place else "nowhere yet"


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
