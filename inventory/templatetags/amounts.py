"""How quantities and places are written on pages."""

from decimal import Decimal

from django import template

from inventory.models import Place

register = template.Library()

# Base unit -> what people say, and how many base units that is.
SHOWN = {"mm": ("m", 1000), "ul": ("ml", 1000), "mm2": ("m\u00b2", 1_000_000)}


@register.filter
def amount(quantity: int, unit: str) -> str:
    """A quantity in base units as people say it: 7250 mm is "7.25 m", 3 pieces are "3"."""
    if unit not in SHOWN:
        return f"{quantity:,}"
    name, size = SHOWN[unit]
    return f"{(Decimal(quantity) / size).normalize():,f} {name}"


@register.filter
def where(place: Place | None) -> str:
    """A place with what it stands in, innermost first: "Bag 3, Parcel 1, Van 2"."""
    return ", ".join(one.name for one in place.way_up()) if place else "nowhere yet"


@register.filter
def look_up(mapping: dict[str, object], key: str) -> object:
    """The value of a key that is itself a variable; nothing if absent."""
    return mapping.get(key)
