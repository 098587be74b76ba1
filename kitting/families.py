"""Families as stored: editions go in once and stay, their items enter the catalogue."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db import transaction

from inventory.models import CartonContent, Item, ItemCode
from kitting.models import FamilyEdition
from kitting.plan.family import Family, parse
from kitting.plan.items import FamilyItem


class EditionError(ValueError):
    """An edition that cannot be stored; the message says what was expected and what came."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a load did."""

    edition: FamilyEdition
    fresh: bool  # False: this very text was stored before and nothing changed
    items_made: int
    warnings: tuple[str, ...]


@transaction.atomic
def load(text: str, where: str) -> Loaded:
    """Store an edition and its items. Raises FamilyError (every fault) or EditionError.

    where: the file's name, for messages.
    """
    family = parse(text, where)
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    made = sum(_enter(item) for item in family.items.values())
    _enter_boxes(family)
    warnings = (
        (f"{family.name} of {family.edition} is a trial: its kits are to be checked by a person.",)
        if family.status == "trial"
        else ()
    )
    known = FamilyEdition.objects.filter(name=family.name, edition=family.edition).first()
    if known is not None and known.sha256 != sha256:
        raise EditionError(
            f"{where}: edition: expected a later date than {family.edition}, which is stored with "
            f"other text (SHA-256 {known.sha256[:12]}), got SHA-256 {sha256[:12]}"
        )
    if known is not None:
        return Loaded(known, False, made, warnings)
    edition = FamilyEdition(
        name=family.name,
        edition=family.edition,
        status=family.status,
        text=text,
        sha256=sha256,
    )
    edition.save()
    return Loaded(edition, True, made, warnings)


def current(name: str) -> FamilyEdition | None:
    """Return the newest released edition of a family, else its newest trial, else None."""
    editions = FamilyEdition.objects.filter(name=name).order_by("-edition")
    return editions.filter(status="released").first() or editions.first()


def family_of(edition: FamilyEdition) -> Family:
    """Return the family as read from a stored edition."""
    return _read(edition.sha256, edition.text, str(edition))


@lru_cache(maxsize=16)
def _read(sha256: str, text: str, where: str) -> Family:
    return parse(text, where)


def _enter(wanted: FamilyItem) -> int:
    """Enter an item of the family; 1 if it was not in the catalogue."""
    values: dict[str, Any] = {
        "name": wanted.name,
        "tracking": wanted.tracking,
        "unit": wanted.unit,
        "mass_g": wanted.mass_g,
    }
    item, fresh = Item.objects.get_or_create(code=wanted.code, defaults=values)
    # Tracking and base unit are fixed for ever: stock was booked in them.
    if (item.tracking, item.unit) != (wanted.tracking, wanted.unit):
        raise EditionError(
            f"item {wanted.code}: expected {item.tracking} in {item.unit} as in the catalogue, "
            f"got {wanted.tracking} in {wanted.unit}"
        )
    if not fresh:
        Item.objects.filter(pk=item.pk).update(name=wanted.name, mass_g=wanted.mass_g)
    if wanted.gtin:
        text = {"item": item, "text": wanted.gtin, "pack_quantity": wanted.pack}
        ItemCode.objects.get_or_create(key=wanted.gtin, defaults=text)
    return int(fresh)


def _enter_boxes(family: Family) -> None:
    """What the edition says comes in each box, dated as the edition is."""
    items = Item.objects.in_bulk(list(family.items), field_name="code")
    for wanted in family.items.values():
        for content, quantity in wanted.carton.items():
            CartonContent.objects.get_or_create(
                box_of=items[wanted.code],
                item=items[content],
                since=family.edition,
                defaults={"quantity": quantity},
            )
