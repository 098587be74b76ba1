"""How quantities are said."""

from __future__ import annotations

from inventory.models import Item

ONE = {"piece": "piece", "ul": "microlitre"}  # mm and mm2 stay as they are


def amount(quantity: int, item: Item) -> str:
    """Return "2 pieces of wall bracket"; quantity in base units of the item."""
    unit = ONE.get(item.unit, item.unit) if quantity == 1 else item.get_unit_display()
    return f"{quantity} {unit} of {item.name}"
