"""How quantities are said: 7250 mm is "7.25 m", three brackets are "3 x wall bracket"."""

from decimal import Decimal

from inventory.models import Item

# Base unit -> what people say, and how many base units that is.
SHOWN = {"mm": ("m", 1000), "ul": ("ml", 1000), "mm2": ("m\u00b2", 1_000_000)}


def measure(quantity: int, unit: str) -> str:
    """A quantity in base units as people say it: 7250 mm is "7.25 m", 3 pieces are "3"."""
    if unit not in SHOWN:
        return f"{quantity:,}"
    name, size = SHOWN[unit]
    return f"{(Decimal(quantity) / size).normalize():,f} {name}"


def amount(quantity: int, item: Item) -> str:
    """Return "2 x wall bracket" or "7.25 m of mains cable"; quantity in base units of the item."""
    return f"{measure(quantity, item.unit)} {joined(item.unit)} {item.name}"


def counted(number: int, one: str, more: str = "") -> str:
    """Return "1 row", "12 rows", "0 boxes"; `more` is the plural that an s does not make."""
    return f"{number} {one}" if number == 1 else f"{number} {more or one + 's'}"


def joined(unit: str) -> str:
    """The word between a quantity and a name: pieces are "2 x", a length is "7.25 m of"."""
    return "of" if unit in SHOWN else "x"
