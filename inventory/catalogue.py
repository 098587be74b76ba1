"""The only writer of the catalogue: items, their codes, and the people who work here."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.codes.serials import look_up_key
from inventory.models import Item, ItemCode, Person


def enter_item(item: Item) -> Item:
    """Store a new item that a form has checked."""
    item.save(force_insert=True)
    return item


def change_item(
    item: Item,
    *,
    name: str,
    mass_g: int,
    cost: int = 0,
    cost_for: int = 1,
    opened_days: int | None = None,
) -> None:
    """Change an item's name, mass (grams, see Item.mass_g), cost (cents for base units), keeping.

    opened_days: how long it keeps once opened; None: as long as its batch.
    """
    item.name, item.mass_g, item.cost, item.cost_for = name, mass_g, cost, cost_for
    item.opened_days = opened_days
    item.save(update_fields=["name", "mass_g", "cost", "cost_for", "opened_days"])


def add_code(item: Item, text: str, pack_quantity: int = 1) -> ItemCode:
    """Let a printed text mean this item; one scan of it stands for pack_quantity base units."""
    return ItemCode.objects.create(
        item=item, text=text, key=look_up_key(text), pack_quantity=pack_quantity
    )


def enter_person(username: str, password: str, *, name: str, roles: Iterable[str]) -> Person:
    """Store a new person."""
    return Person.objects.create_user(username, password, name=name, roles=roles)


def change_person(person: Person, *, name: str, roles: Iterable[str], is_active: bool) -> None:
    """Change name and roles; one who is no longer active cannot sign in."""
    person.name, person.roles, person.is_active = name, sorted(set(roles)), is_active
    person.save(update_fields=["name", "roles", "is_active"])
