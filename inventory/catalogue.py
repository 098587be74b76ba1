"""The only writer of the catalogue: items, their codes, and the people who work here."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from django.contrib.auth.hashers import make_password

from inventory import rows
from inventory.amending import amended
from inventory.codes.serials import look_up_key
from inventory.lock import writing
from inventory.models import Item, ItemCode, Person

_NAMED: list[Callable[[Person], None]] = []


def register_named(told: Callable[[Person], None]) -> None:
    """Let `told` know of each person whose name changed, before anybody reads the new one."""
    if told not in _NAMED:
        _NAMED.append(told)


def enter_item(item: Item) -> Item:
    """Store a new item that a form has checked."""
    with writing():
        item.save(force_insert=True)
    return item


def enter_items(items: Iterable[Item]) -> None:
    """Store new items that were judged one by one."""
    with writing():
        rows.add_many(list(items))


def change_item(
    item: Item,
    *,
    name: str,
    mass_g: int,
    cost: int = 0,
    cost_for: int = 1,
    opened_days: int | None = None,
    by: Person | None = None,
) -> None:
    """Change an item's name, mass (grams, see Item.mass_g), cost (cents for base units), keeping.

    opened_days: how long it keeps once opened; None: as long as its batch. by: None for a command.
    """
    now = {
        "name": name,
        "mass_g": mass_g,
        "cost": cost,
        "cost_for": cost_for,
        "opened_days": opened_days,
    }
    _change(item.code, now, by)
    for field, value in now.items():
        setattr(item, field, value)


def follow_list(code: str, *, name: str, mass_g: int, by: Person | None) -> None:
    """Let an item be called and weigh what a parts list says. by: None for the first list."""
    _change(code, {"name": name, "mass_g": mass_g}, by)


def _change(code: str, now: dict[str, Any], by: Person | None) -> None:
    with writing():
        there = Item.objects.filter(code=code)
        amended(by, f"item:{code}", there.values(*now).get(), now)
        there.update(**now)


def add_code(item: Item, text: str, pack_quantity: int = 1) -> ItemCode:
    """Let a printed text mean this item; one scan of it stands for pack_quantity base units."""
    with writing():
        return ItemCode.objects.create(
            item=item, text=text, key=look_up_key(text), pack_quantity=pack_quantity
        )


def add_codes(codes: Iterable[tuple[Item, str, int]]) -> None:
    """Let printed texts mean items: item, text, base units that one scan stands for."""
    with writing():
        rows.add_many(
            [
                ItemCode(item=item, text=text, key=look_up_key(text), pack_quantity=pack)
                for item, text, pack in codes
            ]
        )


def add_labels(labels: Iterable[tuple[Item, str, str]]) -> None:
    """Let labels of makers mean items: item, pattern, symbology (empty: in any symbol).

    What makes a pattern good is judged before, see maker_labels.
    """
    with writing():
        rows.add_many(
            [
                ItemCode(item=item, text=text, key=text, label_pattern=True, symbology=symbology)
                for item, text, symbology in labels
            ]
        )


def change_label(label: ItemCode, symbology: str, by: Person | None) -> None:
    """Say in which kind of symbol a maker's label stands; empty: in any."""
    with writing():
        amended(by, f"code:{label.key}", {"symbology": label.symbology}, {"symbology": symbology})
        label.symbology = symbology
        label.save(update_fields=["symbology"])


def drop_label(label: ItemCode, by: Person | None) -> None:
    """Let a maker's label mean nothing any more; what was read by it stays as it was read."""
    with writing():
        amended(by, f"code:{label.key}", {"item": label.item.code}, {"item": ""})
        label.delete()


def change_pack(code: ItemCode, pack_quantity: int, by: Person) -> None:
    """Say for how many base units one scan of this text stands."""
    with writing():
        was, now = {"pack_quantity": code.pack_quantity}, {"pack_quantity": pack_quantity}
        amended(by, f"code:{code.key}", was, now)
        code.pack_quantity = pack_quantity
        code.save(update_fields=["pack_quantity"])


def enter_person(username: str, password: str, *, name: str, roles: Iterable[str]) -> Person:
    """Store a new person."""
    with writing():
        return Person.objects.create_user(username, password, name=name, roles=roles)


def change_password(person: Person, password: str, by: Person) -> None:
    """Give somebody another password: sessions that began with the one until now are over.

    That it was changed is noted, the password nowhere. by: the person, or a manager.
    """
    hashed = make_password(password)  # takes as long as hundreds of scans: before the lock
    with writing():
        was, now = {"password": "one"}, {"password": "another"}
        amended(by, f"person:{person.username}", was, now)
        Person.objects.filter(pk=person.pk).update(password=hashed)
    person.password = hashed


def change_person(
    person: Person,
    *,
    name: str,
    roles: Iterable[str],
    is_active: bool,
    phone: str = "",
    by: Person | None = None,
) -> None:
    """Change name, roles and number; one no longer active cannot sign in. by: None: a command."""
    now: dict[str, Any] = {"roles": sorted(set(roles)), "is_active": is_active}
    with writing():
        there = Person.objects.filter(pk=person.pk)
        # Name and number can be erased, so they stand in no amendment.
        amended(by, f"person:{person.username}", there.values(*now).get(), now)
        there.update(name=name, phone=phone, **now)
        person.name, person.roles, person.is_active = name, now["roles"], is_active
        person.phone = phone
        for told in _NAMED:
            told(person)
